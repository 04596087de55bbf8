"""The picture cut to the gymnast."""

import io
from dataclasses import replace

import pytest
from PIL import Image
from sample_sheets import measurement_of, photo_of, plain_jpeg, squad

from chordline.adapters.printing.crop import body_view, crop_picture
from chordline.core.body.measurement import Mark
from chordline.errors import PictureError


@pytest.mark.parametrize("name", squad())
def test_every_landmark_and_the_card_stay_in_the_picture(name: str) -> None:
    measurement = measurement_of(name)
    view = body_view(measurement)
    assert measurement.card is not None
    places = [(m.x_px, m.y_px) for m in measurement.landmarks.values()]
    places += [tuple(corner) for corner in measurement.card.corners_px]
    assert all(view.left < x < view.right and view.top < y < view.bottom for x, y in places)
    assert view.left >= 0.0
    assert view.right <= 1600.0
    assert view.top >= 0.0
    assert view.bottom <= 1200.0


@pytest.mark.parametrize("name", squad())
def test_the_gymnast_is_large_in_it(name: str) -> None:
    measurement = measurement_of(name)
    view = body_view(measurement)
    xs = [m.x_px for m in measurement.landmarks.values()]
    ys = [m.y_px for m in measurement.landmarks.values()]
    if measurement.test == "handstand":
        assert (max(ys) - min(ys)) / (view.bottom - view.top) > 0.75
    else:
        assert (max(xs) - min(xs)) / (view.right - view.left) > 0.58


def test_a_card_far_away_is_left_out() -> None:
    measurement = measurement_of("11_prone-sides.jpg")
    assert measurement.card is not None
    far = replace(measurement.card, corners_px=measurement.card.corners_px * 0.0 + 1590.0)
    assert body_view(replace(measurement, card=far)) == body_view(replace(measurement, card=None))


def test_without_marks_or_with_marks_gone_wrong_the_whole_photo_is_shown() -> None:
    measurement = measurement_of("11_prone-sides.jpg")
    whole = (0.0, 0.0, 1600.0, 1200.0)
    for marks in (
        {},
        {"hip": Mark(800.0, 600.0, 4.0, "auto"), "knee": Mark(810.0, 600.0, 4.0, "auto")},
        {"hip": Mark(9000.0, 600.0, 4.0, "auto"), "knee": Mark(9900.0, 600.0, 4.0, "auto")},
    ):
        view = body_view(replace(measurement, landmarks=marks))
        assert (view.left, view.top, view.right, view.bottom) == whole


@pytest.mark.parametrize("width_px", [1600, 800, 1100])
def test_the_cut_picture_shows_exactly_the_part_that_is_named(width_px: int) -> None:
    height_px = width_px * 3 // 4
    photo = replace(
        photo_of("12_handstand.jpg", jpeg=plain_jpeg(width_px, height_px)),
        jpeg_width_px=width_px,
        jpeg_height_px=height_px,
    )
    jpeg, view = crop_picture(photo)
    assert crop_picture(photo) == (jpeg, view)
    with Image.open(io.BytesIO(jpeg)) as cut:
        assert cut.width == pytest.approx((view.right - view.left) * width_px / 1600.0)
        assert cut.height == pytest.approx((view.bottom - view.top) * height_px / 1200.0)


def test_a_mark_in_the_photo_is_where_the_drawing_expects_it() -> None:
    image = Image.new("RGB", (1600, 1200), "white")
    for x in range(-4, 5):
        for y in range(-4, 5):
            image.putpixel((929 + x, 581 + y), (0, 0, 0))
    out = io.BytesIO()
    image.save(out, "JPEG", quality=95)
    jpeg, view = crop_picture(photo_of("13_handstand.jpg", jpeg=out.getvalue()))
    with Image.open(io.BytesIO(jpeg)) as cut:
        x, y = round(929 - view.left), round(581 - view.top)
        assert cut.convert("L").getpixel((x, y)) < 60
        assert cut.convert("L").getpixel((x + 12, y)) > 200


def test_bytes_that_are_no_picture_or_another_picture_are_refused_by_name() -> None:
    with pytest.raises(PictureError, match=r"11_prone-sides\.jpg: cannot be opened"):
        crop_picture(photo_of("11_prone-sides.jpg", jpeg=b"no picture"))
    with pytest.raises(PictureError, match="not the recorded 1600 × 1200 px"):
        crop_picture(photo_of("11_prone-sides.jpg", jpeg=plain_jpeg(400, 300)))
