"""Devices beside the mat: few, forgotten soon, and the newest frame wins."""

import threading
from collections.abc import Callable

import pytest

from chordline.adapters.media.live_frame import JpegFrameReader
from chordline.application.live.session import LiveAsk
from chordline.application.live.sessions import LiveEndedError, LiveSessions
from chordline.application.live.told import LiveTold
from chordline.catalogue.live import load_live
from chordline.catalogue.loader import load_catalogue
from chordline.errors import PictureError, RefusedInputError, WrongUseError
from live_stories import TellingEye, frame, straight_girl

CATALOGUE = load_catalogue()
LIVE = load_live(CATALOGUE)
FRAME = frame()


class Clock:
    now_s = 100.0

    def __call__(self) -> float:
        return self.now_s


def opened(
    eye: TellingEye | None = None, *, clock: Callable[[], float] | None = None
) -> LiveSessions:
    eye = eye or TellingEye([straight_girl()])
    reader = JpegFrameReader(most_bytes=600_000, most_px=1_500_000)
    return LiveSessions(lambda: eye, reader, CATALOGUE, LIVE, clock=clock or Clock())


def asked(at_s: float, test: str = "prone-overhead") -> LiveAsk:
    return LiveAsk(at_s, test)


def test_without_weights_it_is_said_what_to_do() -> None:
    reader = JpegFrameReader(most_bytes=1, most_px=1)
    with pytest.raises(RefusedInputError, match="chordline weights"):
        LiveSessions(lambda: None, reader, CATALOGUE, LIVE, clock=Clock()).open()


def test_a_device_that_went_quiet_is_forgotten() -> None:
    clock = Clock()
    sessions = opened(clock=clock)
    name = sessions.open()
    clock.now_s += 59.0
    assert sessions.take(name, FRAME, asked(1.0)) is not None
    clock.now_s += 61.0
    with pytest.raises(LiveEndedError, match="start it again"):
        sessions.take(name, FRAME, asked(2.0))
    assert len(sessions) == 0


def test_as_many_devices_as_may_be_and_a_place_is_free_again() -> None:
    sessions = opened()
    names = [sessions.open() for _ in range(4)]
    with pytest.raises(RefusedInputError, match="stop one of them"):
        sessions.open()
    sessions.end(names[0])
    sessions.end(names[0])
    sessions.open()
    assert len(sessions) == 4


def test_a_device_that_sends_nothing_gives_its_place_up() -> None:
    clock = Clock()
    sessions = opened(clock=clock)
    quiet, *live = [sessions.open() for _ in range(4)]
    clock.now_s += 9.0
    for name in live:
        sessions.take(name, FRAME, asked(1.0))
    sessions.open()
    with pytest.raises(LiveEndedError):
        sessions.take(quiet, FRAME, asked(2.0))
    with pytest.raises(RefusedInputError, match="stop one of them"):
        sessions.open()


def test_a_frame_older_than_the_last_is_left_out() -> None:
    sessions = opened()
    name = sessions.open()
    assert sessions.take(name, FRAME, asked(2.0)) is not None
    assert sessions.take(name, FRAME, asked(1.0)) is None
    assert sessions.take(name, FRAME, asked(2.0)) is None


def test_of_the_frames_that_wait_only_the_newest_is_looked_at() -> None:
    looking, goes_on = threading.Event(), threading.Event()

    def hold() -> None:
        looking.set()
        assert goes_on.wait(10)

    sessions = opened(TellingEye([straight_girl()], hold))
    name = sessions.open()
    answers: dict[float, LiveTold | None] = {}

    def send(at_s: float) -> threading.Thread:
        def work() -> None:
            answers[at_s] = sessions.take(name, FRAME, asked(at_s))

        thread = threading.Thread(target=work)
        thread.start()
        return thread

    first = send(1.0)
    assert looking.wait(10)
    second = send(2.0)
    while second.is_alive() and sessions._devices[name].newest_s < 2.0:
        pass
    third = send(3.0)
    second.join(10)  # told at once, while the first is still looked at
    assert answers == {2.0: None}
    goes_on.set()
    first.join(10)
    third.join(10)
    assert answers[1.0] is not None
    assert answers[3.0] is not None


def test_a_frame_that_fails_does_not_block_the_next() -> None:
    sessions = opened()
    name = sessions.open()
    with pytest.raises(PictureError):
        sessions.take(name, b"no picture", asked(1.0))
    assert sessions.take(name, FRAME, asked(2.0)) is not None


def test_an_unknown_test_is_told_with_the_known_ones() -> None:
    sessions = opened()
    with pytest.raises(WrongUseError, match="prone-overhead"):
        sessions.take(sessions.open(), FRAME, asked(1.0, "cartwheel"))


# Frames


@pytest.mark.parametrize(
    ("content", "why"),
    [
        (b"", "no JPEG"),
        (b"\x89PNG\r\n", "no JPEG"),
        (b"\xff\xd8\xff\x00rubbish", "cannot be read"),
        (FRAME[:200], "cannot be read|only in part"),
        (frame(2000, 1000), "2000 × 1000"),
        (frame(640, 40), "too small"),
        (b"\xff\xd8\xff" + b"\0" * 600_000, "too large"),
    ],
)
def test_what_is_no_frame_is_refused_with_a_sentence(content: bytes, why: str) -> None:
    reader = JpegFrameReader(most_bytes=600_000, most_px=1_500_000)
    with pytest.raises(PictureError, match=why):
        reader.read_frame(content)


def test_a_frame_is_read_upright_and_in_colour() -> None:
    reader = JpegFrameReader(most_bytes=600_000, most_px=1_500_000)
    assert reader.read_frame(frame(320, 200)).shape == (200, 320, 3)
