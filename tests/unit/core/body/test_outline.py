"""The outline of drawn trunks whose turn is known.

A degree of turn is 0.2 % of the trunk's length in sagitta; 1.5° are a third of a mask's pixel on a
trunk of 60 of them.
"""

from dataclasses import replace

import numpy as np
import pytest

from chordline.core.body.found import BodyMask
from chordline.core.body.outline import ROWS, FrontOutline, read_front_outline
from chordline.core.geometry.curve import fit_curve, turning
from drawn_trunk import Drawing, Trunk, draw
from stick_body import VIEWS, View

PRONE = VIEWS["prone, head left"]
TURNS_DEG = (-30.0, -12.0, 0.0, 12.0, 30.0)
TOLERANCE_DEG = 1.5


def read(drawing: Drawing, **more: np.ndarray) -> FrontOutline:
    return read_front_outline(
        drawing.mask,
        hip_px=drawing.hip_px,
        shoulder_px=drawing.shoulder_px,
        facing=drawing.facing,
        **more,
    )


def turn_deg(points_px: np.ndarray, facing: int) -> float:
    curve = fit_curve(points_px, degree=2)
    return float(np.rad2deg(turning(curve, 0.0, 1.0, np.array(float(facing)))))


def two_colours(drawing: Drawing, body: object, ground: object, trunk: Trunk) -> np.ndarray:
    """A picture whose colours end where the drawn body ends, whatever the mask says."""
    size = 481
    sharp = draw(trunk, PRONE, mask_px=1.0, crop_turn_deg=0.0, softness=0.05, size=size)
    left, top = sharp.mask.crop_to_photo[:, 2].astype(int)
    picture = np.empty((top + size, left + size, 3), np.uint8)
    picture[:] = ground
    window = picture[top : top + size, left : left + size]
    window[sharp.mask.alpha > 0.5] = body
    return picture


@pytest.mark.parametrize("view", VIEWS.values(), ids=VIEWS.keys())
@pytest.mark.parametrize("turn", TURNS_DEG)
def test_the_front_turns_as_the_drawn_trunk_does(view: View, turn: float) -> None:
    trunk = Trunk(turn)
    drawing = draw(trunk, view)
    found = turn_deg(read(drawing).xy_px, drawing.facing)
    assert found == pytest.approx(trunk.outline_turn_deg(1.0), abs=TOLERANCE_DEG)


@pytest.mark.parametrize("mask_px", [2.0, 4.0, 8.0])
@pytest.mark.parametrize("crop_turn", [0.0, 45.0, -100.0])
def test_neither_the_masks_resolution_nor_its_turn_matters(
    mask_px: float, crop_turn: float
) -> None:
    trunk = Trunk(20.0)
    drawing = draw(trunk, PRONE, mask_px=mask_px, crop_turn_deg=crop_turn)
    found = turn_deg(read(drawing).xy_px, drawing.facing)
    assert found == pytest.approx(trunk.outline_turn_deg(1.0), abs=TOLERANCE_DEG)


def test_a_point_lies_on_the_drawn_outline_within_a_tenth_of_a_mask_pixel() -> None:
    drawing = draw(Trunk(0.0, thickness=0.4124), PRONE, mask_px=4.0)
    outline = read(drawing)
    assert np.abs(drawing.to_body(outline.xy_px)[:, 0] - 0.2062).max() < 0.4 / 240.0
    assert drawing.to_body(outline.xy_px)[:, 1] == pytest.approx(np.linspace(0, 0.75, ROWS))


def test_the_error_grows_with_the_masks_pixel_and_with_a_soft_edge() -> None:
    fine = read(draw(Trunk(), PRONE, mask_px=3.0)).sd_px
    coarse = read(draw(Trunk(), PRONE, mask_px=6.0)).sd_px
    soft = read(draw(Trunk(), PRONE, mask_px=3.0, softness=3.0)).sd_px
    hard = read(draw(Trunk(), PRONE, mask_px=3.0, softness=0.05)).sd_px
    assert hard.min() >= 3.0 / np.sqrt(12.0)
    assert (hard < fine).all()
    assert (coarse > 1.5 * fine).all()
    assert (soft > 2.0 * fine).all()


def test_an_arm_along_the_belly_hides_it() -> None:
    drawing = draw(Trunk(), PRONE)
    arm = drawing.to_photo(np.array([[0.0, 1.0], [0.18, 0.6], [0.18, 0.4], [0.18, 0.3]]))
    outline = read(drawing, arm_px=arm)
    hidden = np.isnan(outline.xy_px[:, 0])
    assert hidden.tolist() == [False, False, True, True, True, True, True, True]
    assert (np.isnan(outline.sd_px) == hidden).all()


def test_arms_overhead_and_arms_that_are_not_marked_hide_nothing() -> None:
    drawing = draw(Trunk(), PRONE)
    overhead = drawing.to_photo(np.array([[0.0, 1.0], [0.1, 1.4], [0.2, 1.8], [np.nan, np.nan]]))
    assert np.isfinite(read(drawing, arm_px=overhead).xy_px).all()
    assert np.isfinite(read(drawing, arm_px=np.full((4, 2), np.nan)).xy_px).all()


def test_a_mask_that_does_not_end_gives_no_outline() -> None:
    drawing = draw(Trunk(), PRONE)
    full = replace(drawing, mask=replace(drawing.mask, alpha=np.ones_like(drawing.mask.alpha)))
    assert np.isnan(read(full).xy_px).all()
    empty = replace(drawing, mask=replace(drawing.mask, alpha=np.zeros_like(drawing.mask.alpha)))
    assert np.isnan(read(empty).sd_px).all()


def test_joints_that_are_missing_or_on_one_place_give_no_outline() -> None:
    drawing = draw(Trunk(), PRONE)
    assert np.isnan(read(replace(drawing, shoulder_px=drawing.hip_px)).xy_px).all()
    assert np.isnan(read(replace(drawing, hip_px=np.full(2, np.nan))).xy_px).all()


def dented(mask: BodyMask, by_px: float) -> BodyMask:
    """The same mask moved to the belly's side, so that its edge is wrong on both."""
    affine = mask.crop_to_photo.copy()
    affine[1, 2] += by_px
    return replace(mask, crop_to_photo=affine)


@pytest.mark.parametrize("softness", [0.5, 1.5])
@pytest.mark.parametrize("turn", TURNS_DEG)
def test_sharpening_neither_adds_nor_takes_turn(turn: float, softness: float) -> None:
    trunk = Trunk(turn)
    drawing = draw(trunk, PRONE, softness=softness)
    picture = two_colours(drawing, (180, 60, 70), (80, 130, 210), trunk)
    grey = np.full_like(picture, 128)
    for rgb in (picture, grey):
        found = turn_deg(read(drawing, rgb=rgb).xy_px, drawing.facing)
        assert found == pytest.approx(trunk.outline_turn_deg(1.0), abs=TOLERANCE_DEG)


def test_colours_put_a_wrong_edge_right() -> None:
    trunk = Trunk(20.0)
    drawing = draw(trunk, PRONE, softness=1.5)
    picture = two_colours(drawing, (180, 60, 70), (80, 130, 210), trunk)
    wrong = replace(drawing, mask=dented(drawing.mask, 8.0))
    truth, blind, seeing = read(drawing), read(wrong), read(wrong, rgb=picture)
    assert np.abs(blind.xy_px - truth.xy_px).max() > 6.0
    assert np.abs(seeing.xy_px - truth.xy_px).max() < 3.0
    assert (seeing.sd_px > 2.0).all()


def test_where_the_colours_tell_nothing_the_mask_decides() -> None:
    trunk = Trunk(20.0)
    drawing = draw(trunk, PRONE)
    grey = two_colours(drawing, (128, 128, 128), (128, 128, 128), trunk)
    plain, seeing = read(drawing), read(drawing, rgb=grey)
    assert np.abs(seeing.xy_px - plain.xy_px).max() < 2.0


def test_a_body_that_leaves_the_picture_is_read_as_far_as_its_mask() -> None:
    trunk = Trunk(0.0)
    drawing = draw(trunk, PRONE)
    picture = two_colours(drawing, (180, 60, 70), (80, 130, 210), trunk)[:540]
    assert np.isfinite(read(drawing, rgb=picture).xy_px).all()
