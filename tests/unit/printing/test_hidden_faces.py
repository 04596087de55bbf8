"""Faces on sheets are destroyed, and the line stays readable."""

import io
from dataclasses import replace

import numpy as np
import pytest
from PIL import Image
from sample_sheets import measurement_of, photo_of

from chordline.adapters.printing.crop import crop_picture
from chordline.adapters.printing.faces import BLOCKS_ACROSS_HEAD, hide_faces
from chordline.core.body.head import find_head
from chordline.core.body.measurement import Mark, Measurement, Trust

#: Every way she lies and stands, of four children.
POSES = ("11_handstand", "12_prone-sides", "13_dish-overhead", "14_prone-active")


def noise(measurement: Measurement) -> Image.Image:
    """A picture whose every pixel differs from its neighbours: the hardest to make coarse."""
    rng = np.random.default_rng(7)
    shape = (measurement.height_px, measurement.width_px, 3)
    return Image.fromarray(rng.integers(0, 256, shape, dtype=np.uint8))


def within(measurement: Measurement, share: float = 0.97) -> np.ndarray:
    """Which pixels lie in the circle about her head."""
    head = find_head(measurement.landmarks)
    assert head is not None
    y, x = np.mgrid[: measurement.height_px, : measurement.width_px]
    return np.hypot(x - head.x_px, y - head.y_px) < share * head.radius_px


def fine(picture: np.ndarray, where: np.ndarray) -> float:
    """Mean square difference between pixels side by side."""
    both = where[:, 1:] & where[:, :-1]
    return float((np.diff(picture.astype(float), axis=1)[both] ** 2).mean())


@pytest.mark.parametrize("name", POSES)
def test_nothing_fine_is_left_of_a_head_and_the_body_is_as_it_was(name: str) -> None:
    measurement = measurement_of(f"{name}.jpg")
    before = noise(measurement)
    hidden = hide_faces(before, measurement)
    assert hidden is not None
    was, now = np.asarray(before), np.asarray(hidden)
    head = within(measurement)
    assert fine(now, head) < 0.001 * fine(was, head)
    # No pixel of the circle follows the picture that was there.
    told = np.corrcoef(was[head].ravel().astype(float), now[head].ravel().astype(float))[0, 1]
    assert abs(told) < 0.1
    for joint in ("hip", "knee", "malleolus"):
        mark = measurement.landmarks[joint]
        x, y = round(mark.x_px), round(mark.y_px)
        assert (now[y - 3 : y + 4, x - 3 : x + 4] == was[y - 3 : y + 4, x - 3 : x + 4]).all(), joint


def test_a_head_is_left_with_few_numbers() -> None:
    """Two pictures with the same means of blocks cannot be told apart afterwards."""
    measurement = measurement_of("12_prone-sides.jpg")
    head = find_head(measurement.landmarks)
    assert head is not None
    before = noise(measurement)
    block = 2.0 * head.radius_px / BLOCKS_ACROSS_HEAD
    few = round(before.width / block), round(before.height / block)
    flat = before.resize(few, Image.Resampling.BOX).resize(before.size, Image.Resampling.NEAREST)
    one, other = (hide_faces(each, measurement) for each in (before, flat))
    assert one is not None
    assert other is not None
    circle = within(measurement)
    apart = np.asarray(one)[circle].astype(int) - np.asarray(other)[circle]
    # All but nothing: edges of the flat blocks do not fall on whole pixels.
    assert np.abs(apart).mean() < 4.0


def test_who_stands_beside_her_is_coarse_too() -> None:
    measurement = measurement_of("12_prone-sides.jpg")
    before = noise(measurement)
    hidden = hide_faces(before, measurement)
    assert hidden is not None
    shoulder, hip = (measurement.landmarks[name] for name in ("shoulder", "hip"))
    beside = np.zeros((measurement.height_px, measurement.width_px), dtype=bool)
    trunk = np.hypot(shoulder.x_px - hip.x_px, shoulder.y_px - hip.y_px)
    beside[: int(min(shoulder.y_px, hip.y_px) - trunk)] = True
    assert fine(np.asarray(hidden), beside) < 0.001 * fine(np.asarray(before), beside)


def test_marks_of_a_program_that_need_a_look_hide_nothing_and_show_nothing() -> None:
    doubt = Trust(False, ("Another person was found nearby.",))
    measurement = measurement_of("12_prone-sides.jpg", trust=doubt)
    by_program = replace(
        measurement,
        landmarks={
            name: replace(mark, origin="auto") for name, mark in measurement.landmarks.items()
        },
    )
    assert hide_faces(noise(measurement), by_program) is None
    by_hand = replace(
        measurement,
        landmarks={
            name: replace(mark, origin="hand") for name, mark in measurement.landmarks.items()
        },
    )
    assert hide_faces(noise(measurement), by_hand) is not None


def test_without_an_ear_a_wider_circle_about_the_end_of_the_trunk_holds_the_head() -> None:
    measurement = measurement_of("12_prone-sides.jpg")
    marks = dict(measurement.landmarks)
    ear = marks.pop("ear")
    with_ear, without = find_head(measurement.landmarks), find_head(marks)
    assert with_ear is not None
    assert without is not None
    away = np.hypot(without.x_px - ear.x_px, without.y_px - ear.y_px)
    assert without.radius_px > away + 0.5 * with_ear.radius_px
    assert without.radius_px > 1.5 * with_ear.radius_px


def test_an_ear_that_cannot_be_hers_is_not_believed() -> None:
    marks = dict(measurement_of("12_prone-sides.jpg").landmarks)
    assert find_head({**marks, "ear": marks["malleolus"]}) is None
    assert find_head({"ear": Mark(10.0, 10.0, 3.0, "hand")}) is None
    assert find_head({}) is None


def test_sheets_hide_faces_unless_they_are_asked_for() -> None:
    picture = io.BytesIO()
    noise(measurement_of("12_prone-sides.jpg")).save(picture, "JPEG", quality=95)
    photo = photo_of("12_prone-sides.jpg", jpeg=picture.getvalue())
    assert photo.faces == "hidden"
    sizes = []
    for one in (photo, replace(photo, faces="shown")):
        jpeg, _ = crop_picture(one)
        assert jpeg is not None
        sizes.append(len(jpeg))
    # What is coarse packs well.
    assert sizes[0] < 0.8 * sizes[1]
