"""Every refusal says what to do."""

from pathlib import Path

import pytest
from PIL import Image

from chordline.adapters.media.video_reader import AvVideoReader
from chordline.application.video_ports import Span
from chordline.errors import PictureError
from made_videos import plain_frames, write_sound, write_video


def refusal(path: Path, from_s: float | None = None, to_s: float | None = None) -> str:
    with pytest.raises(PictureError) as caught:
        list(AvVideoReader(longest_s=10.0).open(path, Span(from_s, to_s)).frames())
    told = str(caught.value)
    assert told.startswith(f"{path.name}: ")
    return told


def test_sound_alone_is_refused(tmp_path: Path) -> None:
    assert "holds only sound" in refusal(write_sound(tmp_path / "a.m4a"))


def test_a_still_with_a_videos_name_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "13_handstand.mp4"
    Image.new("RGB", (200, 200)).save(path, "JPEG")
    assert "still picture with a video's name; give it its own name" in refusal(path)


def test_a_missing_index_is_refused(tmp_path: Path) -> None:
    whole = write_video(tmp_path / "a.mp4", plain_frames(1.0)).read_bytes()
    path = tmp_path / "b.mp4"
    path.write_bytes(whole[: whole.index(b"moov") - 4])
    assert "its index is missing or damaged; copy it from the phone again" in refusal(path)


def test_a_video_that_is_too_long_is_refused_before_it_is_read(tmp_path: Path) -> None:
    path = write_video(tmp_path / "a.mp4", plain_frames(12.0, 10.0), rate_hz=10)
    assert "at most 10 s can be measured at once. Trim it first" in refusal(path)


def test_a_part_of_a_long_video_is_taken(tmp_path: Path) -> None:
    path = write_video(tmp_path / "a.mp4", plain_frames(12.0, 10.0), rate_hz=10)
    video = AvVideoReader(longest_s=10.0).open(path, Span(1.0, 3.0))
    assert len(list(video.frames())) == 21


def test_a_part_after_the_end_is_refused(tmp_path: Path) -> None:
    path = write_video(tmp_path / "a.mp4", plain_frames(1.0))
    assert "--from 5 lies after its end" in refusal(path, 5.0)


def test_a_part_that_ends_before_it_begins_is_refused(tmp_path: Path) -> None:
    path = write_video(tmp_path / "a.mp4", plain_frames(1.0))
    assert "--to must lie after --from" in refusal(path, 0.5, 0.2)


def test_a_video_without_a_frame_is_refused(tmp_path: Path) -> None:
    path = write_video(tmp_path / "a.mp4", plain_frames(1.0))
    content = path.read_bytes()
    start = content.index(b"mdat") + 4
    end = content.index(b"moov") - 4
    path.write_bytes(content[:start] + bytes(end - start) + content[end:])
    assert "no picture that can be read" in refusal(path)


def test_a_protected_video_is_refused(tmp_path: Path) -> None:
    path = write_video(tmp_path / "a.mp4", plain_frames(1.0))
    path.write_bytes(path.read_bytes().replace(b"avc1", b"encv"))
    assert "protected against copying" in refusal(path)


def test_a_codec_that_is_not_known_is_refused(tmp_path: Path) -> None:
    path = write_video(tmp_path / "a.mp4", plain_frames(1.0))
    content = path.read_bytes()
    at = content.index(b"stsd")
    content = content[:at] + content[at:].replace(b"avc1", b"zzzz")
    path.write_bytes(content)
    assert "set the camera to 'most compatible'" in refusal(path)


@pytest.mark.slow
def test_a_frame_larger_than_any_camera_needs_is_refused(tmp_path: Path) -> None:
    path = write_video(tmp_path / "a.mkv", plain_frames(0.04, size=(8400, 64)))
    assert "is 8400 × 64 pixels; set the camera to 1080p" in refusal(path)


def test_a_frame_that_is_too_small_is_refused(tmp_path: Path) -> None:
    path = write_video(tmp_path / "a.mp4", plain_frames(0.2, size=(64, 48)))
    assert "too little to measure a body" in refusal(path)


def test_an_empty_file_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "a.mp4"
    path.write_bytes(b"")
    assert "is empty" in refusal(path)


def test_a_missing_file_is_refused(tmp_path: Path) -> None:
    assert "no such file" in refusal(tmp_path / "a.mp4")


def test_a_folder_is_refused(tmp_path: Path) -> None:
    (tmp_path / "a.mp4").mkdir()
    assert "not an ordinary file" in refusal(tmp_path / "a.mp4")


def test_something_else_with_a_videos_name_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "a.mp4"
    path.write_bytes(b"these are words, no video at all" * 40)
    assert "is not a video that can be read; save it as MP4" in refusal(path)


def test_a_list_of_other_files_is_never_followed(tmp_path: Path) -> None:
    other = write_video(tmp_path / "other.mp4", plain_frames(0.2))
    path = tmp_path / "a.mp4"
    path.write_text(f"ffconcat version 1.0\nfile {other}\n", encoding="utf-8")
    assert "is not a video that can be read" in refusal(path)
