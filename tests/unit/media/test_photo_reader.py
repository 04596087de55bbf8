"""Any picture a phone may hand over is read upright and bare of metadata, or refused in words."""

import hashlib
import io
import struct

import numpy as np
import pytest
from heif_grid import build_heif_grid
from pictures import (
    BLUE,
    EXIF_IFD,
    FOCAL_35MM,
    GREEN,
    GREY,
    RED,
    corners_of,
    encode,
    looks_like,
    quadrants,
    telling_exif,
    tiff_block,
)
from PIL import Image

from chordline.adapters.media.photo_reader import (
    MAX_WORKING_PX,
    PillowPhotoReader,
)
from chordline.application.ports import Photo
from chordline.errors import WrongUseError

READER = PillowPhotoReader()
KINDS = {
    "jpeg": ("JPEG", {"quality": 95, "subsampling": 0}),
    "png": ("PNG", {}),
    "webp": ("WEBP", {"lossless": True}),
    "webp-lossy": ("WEBP", {"quality": 95}),
}


@pytest.mark.parametrize("kind", KINDS)
def test_a_picture_is_known_by_its_content_not_its_name(read, kind):
    form, options = KINDS[kind]
    data = encode(quadrants(), form, **options)
    photo = read(data, "wrong-name.heic")
    assert looks_like(photo.rgb, [RED, GREEN, BLUE, GREY], 12)
    assert (photo.width_px, photo.height_px) == (160, 96)
    assert photo.name == "wrong-name.heic"
    assert photo.sha256 == hashlib.sha256(data).hexdigest()
    assert photo.focal_length_35mm is None
    assert photo.rgb.dtype == np.uint8
    assert photo.rgb.flags.c_contiguous


UPRIGHT = {
    1: [RED, GREEN, BLUE, GREY],
    2: [GREEN, RED, GREY, BLUE],
    3: [GREY, BLUE, GREEN, RED],
    4: [BLUE, GREY, RED, GREEN],
    5: [RED, BLUE, GREEN, GREY],
    6: [BLUE, RED, GREY, GREEN],
    7: [GREY, GREEN, BLUE, RED],
    8: [GREEN, GREY, RED, BLUE],
}


@pytest.mark.parametrize("orientation", UPRIGHT)
@pytest.mark.parametrize("kind", KINDS)
def test_the_picture_is_turned_upright_and_keeps_only_its_focal_length(read, kind, orientation):
    form, options = KINDS[kind]
    photo = read(encode(quadrants(), form, exif=telling_exif(orientation), **options))
    assert looks_like(photo.rgb, UPRIGHT[orientation], 12)
    assert (photo.width_px, photo.height_px) == ((96, 160) if orientation >= 5 else (160, 96))
    assert photo.rgb.shape[:2] == (photo.height_px, photo.width_px)
    assert photo.focal_length_35mm == 26
    assert "Secret" not in repr(photo)


def test_heic_is_read_and_turned_by_its_container_only(read):
    plain = read(build_heif_grid(columns=2, rows=1, width_px=1000, height_px=400))
    turned = read(
        build_heif_grid(
            columns=2,
            rows=1,
            width_px=1000,
            height_px=400,
            irot=3,
            exif=tiff_block(telling_exif(6)),
        )
    )
    assert plain.rgb.shape == (400, 1000, 3)
    np.testing.assert_array_equal(turned.rgb, np.rot90(plain.rgb, 3))
    assert (turned.width_px, turned.height_px) == (400, 1000)
    assert turned.focal_length_35mm == 26
    assert tuple(plain.rgb[100, 100]) == pytest.approx((200, 40, 40), abs=8)


def test_a_long_picture_is_averaged_down_and_keeps_its_true_size(read):
    wide = np.zeros((900, 9000, 3), np.uint8)
    wide[:, ::3] = 255  # finer than the working picture: only an average gives a third of white
    for form in ("PNG", "WEBP", "JPEG"):
        options = {"lossless": True, "method": 0} if form == "WEBP" else {}
        photo = read(encode(Image.fromarray(wide), form, **options))
        assert photo.rgb.shape == (410, MAX_WORKING_PX, 3), form
        assert (photo.width_px, photo.height_px) == (9000, 900)
        assert photo.photo_px_per_working_px == pytest.approx(9000 / 4096)
        assert photo.rgb.mean() == pytest.approx(85, abs=2), form
        assert photo.rgb.std() < 60, form  # picked pixels would keep the stripes' 120


def ramp(dtype, top):
    return (np.linspace(0, top, 160)[None].repeat(96, axis=0)).astype(dtype)


def as_palette(image):
    return image.quantize(16)


MODES = {
    "grey": lambda: (Image.fromarray(ramp(np.uint8, 255)), "PNG", {}),
    "grey-16-bit": lambda: (Image.fromarray(ramp(np.uint16, 65535)), "PNG", {}),
    "grey-jpeg": lambda: (Image.fromarray(ramp(np.uint8, 255)), "JPEG", {"quality": 98}),
}


@pytest.mark.parametrize("mode", MODES)
def test_grey_of_any_depth_becomes_rgb(read, mode):
    image, form, options = MODES[mode]()
    rgb = read(encode(image, form, **options)).rgb
    np.testing.assert_allclose(rgb[48, :, 1], np.linspace(0, 255, 160), atol=4)
    assert (rgb[..., 0] == rgb[..., 2]).all()


def test_palette_cmyk_and_one_bit_become_rgb(read):
    want = [RED, GREEN, BLUE, GREY]
    assert looks_like(read(encode(as_palette(quadrants()), "PNG")).rgb, want, 12)
    cmyk = quadrants().convert("CMYK")
    assert looks_like(read(encode(cmyk, "JPEG", quality=98)).rgb, want, 25)
    one_bit = Image.fromarray(ramp(np.uint8, 255) > 127)
    rgb = read(encode(one_bit, "PNG")).rgb
    assert rgb[0, 0].tolist() == [0, 0, 0]
    assert rgb[0, -1].tolist() == [255, 255, 255]


def test_transparent_parts_become_white(read):
    clear = quadrants().convert("RGBA")
    clear.paste((0, 0, 0, 0), (0, 0, 80, 48))
    half = Image.new("RGBA", (160, 96), (0, 0, 0, 128))
    grey = quadrants().convert("LA")
    grey.paste((0, 0), (0, 0, 80, 48))
    palette = Image.new("P", (160, 96), 0)
    palette.putpalette([0, 0, 0, 200, 30, 30])
    white = (255, 255, 255)
    for form in ("PNG", "WEBP"):
        options = {"lossless": True, "exact": True} if form == "WEBP" else {}
        rgb = read(encode(clear, form, **options)).rgb
        assert looks_like(rgb, [white, GREEN, BLUE, GREY]), form
        assert corners_of(read(encode(half, form, **options)).rgb)[0] == pytest.approx(
            (127,) * 3, abs=1
        )
    assert corners_of(read(encode(grey, "PNG")).rgb)[0] == white
    assert corners_of(read(encode(palette, "PNG", transparency=b"\0\xff")).rgb)[0] == white
    assert corners_of(read(encode(quadrants(), "PNG", transparency=RED)).rgb)[0] == white


def test_of_an_animation_the_first_picture_is_taken(read):
    frames = [Image.new("RGB", (100, 80), colour) for colour in (RED, BLUE, GREEN)]
    for form, options in (("PNG", {}), ("WEBP", {"lossless": True}), ("MPO", {"quality": 95})):
        data = encode(frames[0], form, save_all=True, append_images=frames[1:], **options)
        assert corners_of(read(data).rgb)[0] == pytest.approx(RED, abs=4), form


@pytest.mark.parametrize("focal", [0, -1, "x"])
def test_an_impossible_focal_length_is_none(read, focal):
    exif = Image.Exif()
    exif.get_ifd(EXIF_IFD)[FOCAL_35MM] = focal
    assert read(encode(quadrants(), "JPEG", exif=exif)).focal_length_35mm is None


def test_damaged_exif_costs_the_focal_length_only(read):
    data = encode(quadrants(), "JPEG", exif=b"Exif\0\0II*\0\xff\xff\xff\xff garbage garbage")
    photo = read(data)
    assert photo.focal_length_35mm is None
    assert looks_like(photo.rgb, [RED, GREEN, BLUE, GREY], 12)


def segments_of(jpeg):
    """Marker codes of a JPEG's segments before the image data."""
    at, markers = 2, []
    while jpeg[at + 1] != 0xDA:
        markers.append(jpeg[at + 1])
        at += 2 + struct.unpack(">H", jpeg[at + 2 : at + 4])[0]
    return markers


def test_a_clean_jpeg_holds_nothing_but_the_picture(read):
    profile = b"\0" * 128 + b"ICC of SecretMaker"
    data = encode(
        quadrants(),
        "JPEG",
        exif=telling_exif(6),
        comment=b"SecretComment",
        icc_profile=profile,
        xmp=b"<x:xmpmeta>SecretXmp</x:xmpmeta>",
        quality=95,
    )
    assert data.count(b"Secret") >= 4
    photo = read(data)
    clean = READER.clean_jpeg(photo, max_px=1000)
    # APP0 (JFIF), tables and frame only: no APP1 (EXIF, XMP), APP2 (ICC), APP13, COM.
    assert {0xE0} == {marker for marker in segments_of(clean) if marker >= 0xE0}
    for trace in (b"Secret", b"Exif", b"http", b"ICC_PROFILE", b"xmp"):
        assert trace not in clean
    shown = np.asarray(Image.open(io.BytesIO(clean)))
    assert looks_like(shown, UPRIGHT[6], 12)


@pytest.mark.parametrize(
    ("max_px", "size"), [(1000, (160, 96)), (160, (160, 96)), (80, (80, 48)), (1, (1, 1))]
)
def test_a_clean_jpeg_is_never_longer_than_asked_and_never_enlarged(read, max_px, size):
    photo = read(encode(quadrants(), "PNG"))
    assert Image.open(io.BytesIO(READER.clean_jpeg(photo, max_px=max_px))).size == size


def test_a_clean_jpeg_of_no_size_is_wrong_use():
    photo = Photo("a", np.zeros((64, 64, 3), np.uint8), 64, 64, "", None)
    with pytest.raises(WrongUseError):
        READER.clean_jpeg(photo, max_px=0)
