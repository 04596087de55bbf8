"""A hostile video ends the process that decodes it, never the one that asks."""

import io
from dataclasses import replace

import numpy as np
import pytest

from chordline.adapters.decoding import video_process
from chordline.adapters.decoding import video_reader as decoding
from chordline.adapters.decoding.bounds import VIDEO_BOUNDS
from chordline.adapters.decoding.video_process import VideoProcess
from chordline.adapters.decoding.video_reader import ChildVideoReader
from chordline.adapters.decoding.wire import BrokenOffError
from chordline.adapters.media.video_reader import AvVideoReader
from chordline.application.video_ports import Span, VideoSource
from chordline.errors import PictureError
from made_videos import plain_frames, write_video

READER = ChildVideoReader(longest_s=60.0)
#: Stands in for the process that decodes; what it does when told to read frames is said.
STAND_IN = """
import sys, time
from chordline.adapters.decoding.wire import receive, send
def say(**said):
    send(sys.stdout.buffer, said)
def hear():
    return receive(sys.stdin.buffer, most_bytes=10**9)
say(ready=True)
hear()
say(width_px=9, height_px=9, working_width_px=9, expected_frames=2, duration_s=1.0, rate_hz=2.0)
hear()
{does}
time.sleep(60)
"""
FRAME = "say(frame=True, t_s={t}, at_byte=0, height=9, width=9)\n"


@pytest.fixture(scope="module")
def video(tmp_path_factory):
    path = tmp_path_factory.mktemp("videos") / "13.mp4"
    return write_video(path, plain_frames(1.0))


@pytest.fixture
def stand_in(tmp_path, monkeypatch, video):
    """A video whose process does something else than decoding."""

    def make(does):
        decoding._end_idle()
        (tmp_path / "stand_in_video.py").write_text(STAND_IN.format(does=does))
        monkeypatch.setenv("PYTHONPATH", str(tmp_path))
        monkeypatch.setattr(video_process, "_MODULE", "stand_in_video")
        return READER.open(video, Span())

    yield make
    decoding._end_idle()


def test_frames_and_picture_are_the_same_as_those_decoded_here(video):
    there, here = READER.open(video, Span()), AvVideoReader(longest_s=60.0).open(video, Span())
    frames = list(zip(there.frames(), here.frames(), strict=True))
    assert len(frames) == 30
    assert all(a.t_s == b.t_s and np.array_equal(a.rgb, b.rgb) for a, b in frames)
    assert np.array_equal(there.photo_at(0.5).rgb, here.photo_at(0.5).rgb)
    assert (there.sha256, there.width_px, there.expected_frames) == (
        here.sha256,
        here.width_px,
        here.expected_frames,
    )


def test_bytes_that_are_no_file_are_read(video):
    content = video.read_bytes()
    source = VideoSource("sealed", lambda: io.BytesIO(content), "abc")
    opened = READER.open(source, Span())
    assert (len(list(opened.frames())), opened.sha256, opened.name) == (30, "abc", "sealed")


def test_frames_that_nobody_wants_do_not_keep_the_next_question_waiting(video):
    opened = READER.open(video, Span())
    frames = opened.frames()
    next(frames)
    frames.close()
    assert opened.photo_at(0.5).width_px == opened.width_px
    assert len(list(opened.frames())) == 30


def test_a_picture_can_be_asked_for_while_frames_are_read(video):
    opened = READER.open(video, Span())
    frames = opened.frames()
    next(frames)
    assert opened.photo_at(0.5).width_px == opened.width_px
    assert len(list(frames)) == 29


def test_what_it_says_of_a_damaged_file_comes_through(video, tmp_path):
    content = video.read_bytes()
    (tmp_path / "cut.mp4").write_bytes(content[: len(content) // 2])
    with pytest.raises(PictureError, match=r"cut\.mp4: cannot be opened: its index is missing"):
        READER.open(tmp_path / "cut.mp4", Span())


@pytest.mark.parametrize(
    "does",
    [
        pytest.param("sys.exit()", id="ends"),
        pytest.param("say(need=10**9, at=0)", id="wants-too-much"),
        pytest.param("say(need=10, at=-5)", id="wants-what-is-not-there"),
        pytest.param("say(frame=True, t_s=0.0, at_byte=-1, height=9, width=9)", id="lies"),
        pytest.param("say(failed=True)", id="stumbles"),
    ],
)
def test_a_process_that_fails_before_the_first_frame_is_a_refusal(stand_in, does):
    with pytest.raises(PictureError, match=r"13.mp4: is broken, or made to do harm"):
        list(stand_in(does).frames())


def test_a_process_that_ends_later_leaves_what_was_read(stand_in):
    opened = stand_in(FRAME.format(t=0.0) + "hear()\n" + FRAME.format(t=0.5) + "sys.exit()")
    assert [frame.t_s for frame in opened.frames()] == [0.0, 0.5]
    assert "the rest of it cannot be decoded" in opened.told.sentences[0]


def test_a_frame_that_came_whole_counts_though_its_process_has_died_since(stand_in, monkeypatch):
    monkeypatch.setattr(VideoProcess, "tell", died_before_it_is_asked_for_the_next)
    opened = stand_in(FRAME.format(t=0.25) + "sys.exit()")
    assert [frame.t_s for frame in opened.frames()] == [0.25]
    assert "the rest of it cannot be decoded" in opened.told.sentences[0]


def died_before_it_is_asked_for_the_next(self, **told):
    if told == {"do": "next"}:
        raise BrokenOffError
    self.process.send(told)


def test_a_process_that_is_stuck_is_ended(stand_in, monkeypatch):
    monkeypatch.setattr(video_process, "VIDEO_BOUNDS", replace(VIDEO_BOUNDS, wall_s=0.5))
    with pytest.raises(PictureError, match="is broken"):
        list(stand_in("").frames())


def test_asking_for_the_same_bytes_again_and_again_is_being_stuck(stand_in, monkeypatch):
    monkeypatch.setattr(video_process, "VIDEO_BOUNDS", replace(VIDEO_BOUNDS, wall_s=0.5))
    with pytest.raises(PictureError, match="is broken"):
        list(stand_in("while True:\n    say(need=10, at=0)\n    hear()").frames())
