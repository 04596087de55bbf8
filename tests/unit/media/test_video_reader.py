import io
import subprocess
import sys
from fractions import Fraction
from pathlib import Path
from typing import BinaryIO

import numpy as np
import pytest

from chordline.adapters.media.video_kind import container_of, is_video_file
from chordline.adapters.media.video_reader import AvVideoReader
from chordline.application.video_ports import Span, Video, VideoSource
from made_videos import (
    even_times,
    has_encoder,
    plain_frames,
    two_colours,
    uneven_times,
    write_sound,
    write_video,
)

pytestmark = pytest.mark.slow

LONGEST_S = 300.0


def opened(path: Path, from_s: float | None = None, to_s: float | None = None) -> Video:
    return AvVideoReader(longest_s=LONGEST_S).open(path, Span(from_s, to_s))


def times_of(video: Video, after_s: float | None = None) -> list[float]:
    return [frame.t_s for frame in video.frames(after_s=after_s)]


def still(path: Path, rgb: np.ndarray, **how: object) -> Path:
    return write_video(path, [(float(t), rgb) for t in even_times(0.2)], **how)


def corner_colours(rgb: np.ndarray) -> list[str]:
    """Names of the corners' colours, clockwise from the upper left."""
    h, w = rgb.shape[:2]
    names = []
    for y, x in ((h // 5, w // 5), (h // 5, -w // 5), (-h // 5, -w // 5), (-h // 5, w // 5)):
        red, green, _ = rgb[y, x].astype(int)
        names.append("white" if green > 150 else "red" if red > 120 else "black")
    return names


@pytest.mark.parametrize(
    ("turn_deg", "wanted"),
    [
        (0, ["white", "red", "black", "black"]),
        (90, ["red", "black", "black", "white"]),
        (180, ["black", "black", "white", "red"]),
        (-90, ["black", "white", "red", "black"]),
    ],
)
def test_a_phone_held_any_way_gives_an_upright_picture(
    tmp_path: Path, turn_deg: int, wanted: list[str]
) -> None:
    video = opened(still(tmp_path / "a.mp4", two_colours(), rotation_deg=turn_deg))
    frame = next(iter(video.frames()))
    assert corner_colours(frame.rgb) == wanted
    assert corner_colours(video.photo_at(0.1).rgb) == wanted
    assert (video.width_px, video.height_px) == frame.rgb.shape[1::-1]


def test_a_mirrored_recording_is_mirrored_back(tmp_path: Path) -> None:
    one = 1 << 16
    matrix = [-one, 0, 0, 0, one, 0, 0, 0, 1 << 30]
    video = opened(still(tmp_path / "a.mp4", two_colours(), matrix=matrix))
    frame = next(iter(video.frames()))
    assert corner_colours(frame.rgb) == ["red", "white", "black", "black"]


def test_pixels_are_made_square(tmp_path: Path) -> None:
    video = opened(still(tmp_path / "a.mp4", two_colours(160, 120), aspect=Fraction(3, 2)))
    assert (video.width_px, video.height_px) == (240, 120)
    assert next(iter(video.frames())).rgb.shape == (120, 240, 3)


def test_large_frames_are_made_small_for_tracking_and_kept_whole_for_the_key_frame(
    tmp_path: Path,
) -> None:
    video = opened(still(tmp_path / "a.mp4", two_colours(1920, 1080)))
    assert next(iter(video.frames())).rgb.shape == (540, 960, 3)
    assert video.working_width_px == 960
    photo = video.photo_at(0.1)
    assert photo.rgb.shape == (1080, 1920, 3)
    assert photo.photo_px_per_working_px == 1.0


@pytest.mark.parametrize(
    ("codec", "suffix"),
    [
        ("libx264", ".mp4"),
        ("libx264", ".mov"),
        ("libx264", ".mkv"),
        ("libx265", ".mp4"),
        ("libvpx-vp9", ".webm"),
    ],
)
def test_what_phones_and_browsers_write_is_read(tmp_path: Path, codec: str, suffix: str) -> None:
    if not has_encoder(codec):
        pytest.skip(f"this FFmpeg writes no {codec}, so there is nothing to read")
    path = write_video(tmp_path / f"a{suffix}", plain_frames(0.5), codec=codec)
    frames = list(opened(path).frames())
    assert len(frames) == 15
    np.testing.assert_allclose([f.t_s for f in frames], even_times(0.5), atol=0.002)
    brightness = [float(f.rgb.mean()) for f in frames]
    assert np.all(np.diff(brightness) >= 0.0)
    assert np.ptp(brightness) > 10.0


def test_a_variable_frame_rate_keeps_its_times(tmp_path: Path) -> None:
    times = uneven_times(2.0)
    path = write_video(tmp_path / "a.mp4", [(float(t), two_colours()) for t in times])
    assert np.ptp(np.diff(times)) > 0.02
    np.testing.assert_allclose(times_of(opened(path)), times, atol=0.001)


def test_240_frames_a_second_are_thinned_to_60_and_it_is_told(tmp_path: Path) -> None:
    path = write_video(tmp_path / "a.mp4", plain_frames(1.0, 240.0), rate_hz=240)
    video = opened(path)
    steps = np.diff(times_of(video))
    np.testing.assert_allclose(steps, 1.0 / 60.0, atol=1e-3)
    assert any("240 frames a second were thinned" in one for one in video.told.sentences)


def test_60_frames_a_second_all_stay(tmp_path: Path) -> None:
    video = opened(write_video(tmp_path / "a.mp4", plain_frames(1.0, 60.0), rate_hz=60))
    assert len(times_of(video)) == 60
    assert video.told.sentences == []


def test_a_part_keeps_the_videos_own_time(tmp_path: Path) -> None:
    video = opened(write_video(tmp_path / "a.mp4", plain_frames(4.0)), 1.5, 2.5)
    times = times_of(video)
    assert times[0] == pytest.approx(1.5, abs=0.001)
    assert times[-1] == pytest.approx(2.5, abs=0.001)
    assert video.expected_frames == 30
    assert video.told.sentences == []


def test_reading_goes_on_after_a_time_as_if_it_had_never_stopped(tmp_path: Path) -> None:
    path = write_video(tmp_path / "a.mp4", plain_frames(2.0, 240.0), rate_hz=240)
    whole = times_of(opened(path))
    assert times_of(opened(path), after_s=whole[50]) == whole[51:]


def test_a_frame_is_found_by_its_time(tmp_path: Path) -> None:
    video = opened(write_video(tmp_path / "a.mp4", plain_frames(3.0)))
    frames = {round(f.t_s * 30): float(f.rgb.mean()) for f in video.frames()}
    for number in (0, 31, 67, 89):
        assert float(video.photo_at(number / 30.0).rgb.mean()) == pytest.approx(
            frames[number], abs=0.6
        )


def test_a_time_after_the_end_gives_the_last_frame(tmp_path: Path) -> None:
    video = opened(write_video(tmp_path / "a.mp4", plain_frames(0.5)))
    last = list(video.frames())[-1]
    assert float(video.photo_at(9.0).rgb.mean()) == pytest.approx(float(last.rgb.mean()), abs=0.6)


def test_a_video_cut_off_in_the_middle_gives_what_it_has_and_says_so(tmp_path: Path) -> None:
    whole = write_video(tmp_path / "a.mkv", plain_frames(6.0, size=(320, 240)))
    short = tmp_path / "b.mkv"
    short.write_bytes(whole.read_bytes()[: whole.stat().st_size // 2])
    video = opened(short)
    times = times_of(video)
    assert 0.5 < times[-1] < 5.0
    assert any("cut off" in one for one in video.told.sentences)


def test_damage_inside_a_video_costs_some_frames_not_the_rest(tmp_path: Path) -> None:
    path = write_video(tmp_path / "a.mp4", plain_frames(4.0, size=(320, 240)))
    content = bytearray(path.read_bytes())
    middle = len(content) // 2
    content[middle : middle + 200] = b"\xff" * 200
    path.write_bytes(bytes(content))
    assert times_of(opened(path))[-1] > 3.5


def test_nothing_of_the_metadata_comes_out(tmp_path: Path) -> None:
    secret = {"title": "Lia at home", "comment": "51.5 -0.1"}
    video = opened(write_video(tmp_path / "a.mp4", plain_frames(0.2), metadata=secret))
    photo = video.photo_at(0.0)
    said = " ".join(
        str(v) for v in (*vars(photo).values(), *vars(video).values()) if isinstance(v, str)
    )
    assert b"Lia at home" in (tmp_path / "a.mp4").read_bytes()
    assert "Lia" not in said
    assert photo.focal_length_35mm is None


def test_only_the_frames_in_hand_are_in_memory(tmp_path: Path) -> None:
    """The reader runs a few frames ahead of who takes from it, no more."""
    video = opened(write_video(tmp_path / "a.mp4", plain_frames(4.0)))
    frames = video.frames()
    first = next(frames)
    assert first.t_s == 0.0
    frames.close()


@pytest.mark.parametrize("name", ["13_handstand.mp4", "noname", "clip.jpg"])
def test_a_video_is_known_by_its_content(tmp_path: Path, name: str) -> None:
    path = write_video(tmp_path / "a.mp4", plain_frames(0.2))
    named = tmp_path / name
    named.write_bytes(path.read_bytes())
    assert is_video_file(named)


def test_a_photo_with_a_videos_name_is_a_photo(tmp_path: Path) -> None:
    path = tmp_path / "a.mp4"
    path.write_bytes(b"\xff\xd8\xff\xe0" + bytes(300))
    assert not is_video_file(path)


def test_a_list_of_other_files_is_no_video(tmp_path: Path) -> None:
    path = tmp_path / "a.mp4"
    path.write_text("#EXTM3U\nhttp://127.0.0.1/secret.ts\n", encoding="utf-8")
    assert container_of(path.read_bytes()) is None


def test_a_file_of_sound_alone_opens_as_a_container(tmp_path: Path) -> None:
    assert container_of(write_sound(tmp_path / "a.m4a").read_bytes()[:400]) == "mov"


def test_who_measures_photos_does_not_load_the_decoders() -> None:
    code = (
        "import sys, chordline.bootstrap as b; app = b.build_app(); app.screen_folder(); "
        "print('av' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"


def test_a_stored_video_reads_as_its_file_does(tmp_path: Path) -> None:
    path = write_video(tmp_path / "v.mp4", plain_frames(1.0), rotation_deg=90)
    opened: list[BinaryIO] = []

    def open_it() -> BinaryIO:
        opened.append(io.BytesIO(path.read_bytes()))
        return opened[-1]

    reader = AvVideoReader(longest_s=300.0)
    stored = VideoSource("v.mp4", open_it, "5" * 64)
    one, other = reader.open(path, Span()), reader.open(stored, Span())
    assert (other.width_px, other.height_px) == (one.width_px, one.height_px) == (120, 160)
    assert other.sha256 == "5" * 64
    for a, b in zip(one.frames(), other.frames(), strict=True):
        assert a.t_s == b.t_s
        np.testing.assert_array_equal(a.rgb, b.rgb)
    np.testing.assert_array_equal(one.photo_at(0.5).rgb, other.photo_at(0.5).rgb)
    assert all(file.closed for file in opened)


def test_a_video_that_is_too_long_to_be_measured_is_described(tmp_path: Path) -> None:
    path = write_video(tmp_path / "v.mp4", plain_frames(2.0, rate_hz=240.0), rate_hz=240)
    facts = AvVideoReader(longest_s=1.2).describe(path)
    assert facts.duration_s == pytest.approx(2.0, abs=0.05)
    assert facts.rate_hz == pytest.approx(240.0, rel=0.02)
    assert (facts.width_px, facts.height_px, facts.working_width_px) == (160, 120, 160)
