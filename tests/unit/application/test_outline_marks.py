"""The outline of a drawn trunk as marks of a photo."""

from collections.abc import Mapping

import numpy as np
import pytest

from chordline.application.outline_marks import outline_marks
from chordline.application.ports import Photo
from chordline.core.body.measurement import Mark
from chordline.core.body.measures import compute_measures
from chordline.core.body.points import BodyPoints
from drawn_trunk import Drawing, Trunk, draw
from stick_body import VIEWS

PRONE = VIEWS["prone, head left"]


def photo(*, shrunk: int = 1) -> Photo:
    grey = np.full((1200 // shrunk, 1600 // shrunk, 3), 128, np.uint8)
    return Photo("drawn.png", grey, 1600, 1200, "", None)


def joints(drawing: Drawing, *, k: float = 1.0, **arm: tuple[float, float]) -> dict[str, Mark]:
    places = {"hip": drawing.hip_px, "shoulder": drawing.shoulder_px}
    places |= {name: drawing.to_photo(np.array(place)) for name, place in arm.items()}
    full = {name: (xy + 0.5) * k - 0.5 for name, xy in places.items()}
    return {name: Mark(float(x), float(y), 3.0, "hand") for name, (x, y) in full.items()}


def read(marks: Mapping[str, Mark], facing: int) -> float:
    xy = np.array([[mark.x_px, mark.y_px] for mark in marks.values()])
    body = BodyPoints(tuple(marks), xy[None], float(facing))
    return float(compute_measures(body, ["trunk_hollow_deg"])[0, 0])


@pytest.mark.parametrize("turn", [-25.0, 0.0, 25.0])
def test_the_marks_carry_the_hollow_of_the_trunk(turn: float) -> None:
    trunk = Trunk(turn)
    drawing = draw(trunk, PRONE)
    marks = outline_marks(drawing.mask, joints(drawing), facing=drawing.facing, photo=photo())
    hollow = read(marks, drawing.facing)
    assert hollow == pytest.approx(trunk.outline_turn_deg(1.0), abs=1.5)


def test_the_curve_has_eight_automatic_marks_from_the_hip_end() -> None:
    drawing = draw(Trunk(), PRONE)
    marks = outline_marks(drawing.mask, joints(drawing), facing=drawing.facing, photo=photo())
    assert list(marks) == [f"belly_{i}" for i in range(1, 9)]
    assert {mark.origin for mark in marks.values()} == {"auto"}
    assert all(mark.sd_px > 0.0 for mark in marks.values())
    assert marks["belly_1"].x_px == pytest.approx(drawing.hip_px[0])


def test_marks_are_in_pixels_of_the_full_photo() -> None:
    drawing = draw(Trunk(15.0), PRONE)
    plain = outline_marks(drawing.mask, joints(drawing), facing=drawing.facing, photo=photo())
    twice = outline_marks(
        drawing.mask,
        joints(drawing, k=2.0),
        facing=drawing.facing,
        photo=Photo("drawn.png", photo().rgb, 3200, 2400, "", None),
    )
    for name, mark in plain.items():
        assert twice[name].x_px == pytest.approx(2.0 * mark.x_px + 0.5)
        assert twice[name].y_px == pytest.approx(2.0 * mark.y_px + 0.5)
        assert twice[name].sd_px == pytest.approx(2.0 * mark.sd_px)


def test_without_hip_or_shoulder_there_are_no_marks() -> None:
    drawing = draw(Trunk(), PRONE)
    for missing in ("hip", "shoulder"):
        some = {name: mark for name, mark in joints(drawing).items() if name != missing}
        assert outline_marks(drawing.mask, some, facing=1, photo=photo()) == {}


def test_a_hand_on_the_hip_takes_the_curve_away() -> None:
    drawing = draw(Trunk(), PRONE)
    some = joints(drawing, elbow=(0.1, 0.5), wrist=(0.2, 0.05), hand=(0.2, -0.1))
    assert outline_marks(drawing.mask, some, facing=drawing.facing, photo=photo()) == {}


def test_a_curve_that_lost_its_end_is_left_out() -> None:
    drawing = draw(Trunk(), PRONE)
    some = joints(drawing, wrist=(0.22, 0.85), hand=(0.22, 0.82))
    assert outline_marks(drawing.mask, some, facing=drawing.facing, photo=photo()) == {}


def test_a_small_gap_is_left_out_and_the_numbers_stay() -> None:
    drawing = draw(Trunk(20.0), PRONE)
    some = joints(drawing, elbow=(0.8, 0.9), wrist=(0.8, 0.4), hand=(0.29, 0.37))
    marks = outline_marks(drawing.mask, some, facing=drawing.facing, photo=photo())
    assert 6 <= len(marks) < 8
    assert {"belly_1", "belly_8"} <= set(marks)
    whole = outline_marks(drawing.mask, joints(drawing), facing=drawing.facing, photo=photo())
    assert read(marks, drawing.facing) == pytest.approx(read(whole, drawing.facing), abs=1.0)
