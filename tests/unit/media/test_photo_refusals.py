"""What is no usable picture is refused with a sentence, and damage never gives anything worse."""

import contextlib
import os

import pytest
from heif_grid import build_heif_grid
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pictures import encode, png_of, quadrants, telling_exif, tiff_block

from chordline.adapters.media.photo_reader import (
    MAX_FILE_BYTES,
    MIN_SIDE_PX,
    PillowPhotoReader,
)
from chordline.errors import PictureError

READER = PillowPhotoReader()


def test_a_damaged_heic_is_refused(read):
    data = build_heif_grid(columns=1, rows=1, width_px=512, height_px=512)
    with pytest.raises(PictureError, match="damaged"):
        read(data[: len(data) // 2])


@pytest.mark.parametrize(
    ("data", "words"),
    [
        pytest.param(b"", "is empty", id="empty"),
        pytest.param(b"\xff\xd8\xff", "damaged", id="three-bytes"),
        pytest.param(b"hello, this is no picture at all", "not a picture", id="text"),
        pytest.param(encode(quadrants(), "GIF"), "JPEG, PNG, HEIC or WebP", id="gif"),
        pytest.param(encode(quadrants(), "TIFF"), "JPEG, PNG, HEIC or WebP", id="tiff"),
        pytest.param(encode(quadrants(1, 1), "PNG"), "1 × 1 pixels", id="one-pixel"),
        pytest.param(encode(quadrants(MIN_SIDE_PX - 1, 500), "PNG"), "too little", id="narrow"),
        pytest.param(encode(quadrants(9000, 80), "PNG"), "too little", id="strip"),
        pytest.param(png_of(20000, 15000), r"20000 × 15000 pixels \(300 megapixels\)", id="bomb"),
        pytest.param(png_of(12000, 9000), "Set the camera", id="just-too-large"),
        pytest.param(png_of(200, 100, b"\0" * 99), "damaged", id="png-without-pixels"),
        pytest.param(encode(quadrants(), "JPEG")[:-200], "damaged", id="cut-jpeg"),
        pytest.param(encode(quadrants(), "PNG")[:-60], "damaged", id="cut-png"),
        pytest.param(encode(quadrants(), "WEBP")[:-60], "damaged", id="cut-webp"),
        pytest.param(
            build_heif_grid(columns=30, rows=30, width_px=15360, height_px=15360),
            "236 megapixels",
            id="heic-too-large",
        ),
    ],
)
def test_what_is_no_usable_picture_is_refused_with_a_reason(read, data, words):
    with pytest.raises(PictureError, match=words) as refused:
        read(data, "her photo.jpg")
    assert refused.value.name == "her photo.jpg"
    assert str(refused.value).startswith("her photo.jpg: ")


def test_the_largest_picture_that_is_allowed_passes_the_size_check(read):
    # 100 megapixels by the header, no pixels behind it: refused for damage, not for its size.
    with pytest.raises(PictureError, match="damaged"):
        read(png_of(12500, 8000))


def test_a_file_too_large_is_refused_before_it_is_read(tmp_path):
    path = tmp_path / "huge.png"
    with path.open("wb") as file:
        file.truncate(MAX_FILE_BYTES + 1_000_000)
    with pytest.raises(PictureError, match="201 MB large; at most 200 MB"):
        READER.read(path)


def test_what_is_no_file_is_refused(tmp_path):
    with pytest.raises(PictureError, match="is a folder"):
        READER.read(tmp_path)
    with pytest.raises(PictureError, match="no such file"):
        READER.read(tmp_path / "missing.jpg")
    with pytest.raises(PictureError, match="no possible file name"):
        READER.read(tmp_path / "a\0b.jpg")
    os.mkfifo(tmp_path / "pipe")
    with pytest.raises(PictureError, match="not an ordinary file"):
        READER.read(tmp_path / "pipe")


def test_a_file_that_may_not_be_read_is_refused(tmp_path, monkeypatch):
    path = tmp_path / "locked.jpg"
    path.write_bytes(encode(quadrants(), "JPEG"))

    def refuse(*_args, **_kwargs):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(type(path), "open", refuse)
    with pytest.raises(PictureError, match="cannot be opened"):
        READER.read(path)


SAMPLES = {
    "jpeg": encode(quadrants(), "JPEG", exif=telling_exif(6)),
    "png": encode(quadrants().convert("RGBA"), "PNG", exif=telling_exif(3)),
    "webp": encode(quadrants(), "WEBP", exif=telling_exif(8)),
    "heic": build_heif_grid(
        columns=1, rows=1, width_px=400, height_px=300, irot=1, exif=tiff_block(telling_exif())
    ),
}


@pytest.mark.parametrize("kind", SAMPLES)
@settings(deadline=None, max_examples=60, suppress_health_check=list(HealthCheck))
@given(st.data())
def test_damage_anywhere_gives_a_photo_or_a_refusal_and_nothing_else(tmp_path, kind, data):
    damaged = bytearray(SAMPLES[kind])
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.integers(0, len(damaged) - 1))
        damaged[at] = data.draw(st.integers(0, 255))
    path = tmp_path / "damaged"
    path.write_bytes(damaged[: data.draw(st.integers(1, len(damaged)))])
    with contextlib.suppress(PictureError):
        photo = READER.read(path)
        assert photo.rgb.ndim == 3
        assert min(photo.rgb.shape[:2]) >= MIN_SIDE_PX
