"""Near side and front: one unknown, two kinds of evidence."""

import math
from dataclasses import replace

import numpy as np
import pytest
from fake_nets import UPRIGHT, mirrored, raw_pose
from hypothesis import given
from hypothesis import strategies as st

from chordline.adapters.pose.facing import (
    SideEvidence,
    guess_near_side,
    name_sides,
    weigh_sides,
)
from chordline.adapters.pose.passes import read_pass
from chordline.adapters.pose.roi import Roi
from chordline.conventions import LANDMARKS
from chordline.core.body.orientation import front_word

MIRRORED = mirrored(UPRIGHT)


def seen_at(turn_deg: float, *, right_near: bool = False):
    roi = Roi(400, 300, 512, math.radians(turn_deg))
    points = MIRRORED if right_near else UPRIGHT
    return read_pass(raw_pose(points, left_near=not right_near), roi, mirrored=False)


@given(st.floats(-180, 180), st.booleans())
def test_the_near_side_is_found_however_she_lies(turn_deg: float, right_near: bool) -> None:
    evidence = weigh_sides(seen_at(turn_deg, right_near=right_near))
    side, confidence = guess_near_side([evidence])
    assert side == ("right" if right_near else "left")
    assert confidence > 0.9
    assert (evidence.front > 0) == (evidence.labels > 0)


@pytest.mark.parametrize(
    ("turn_deg", "right_near", "front"),
    [
        (0, False, "left"),
        (0, True, "right"),
        (180, False, "right"),
        (-90, False, "down"),
        (90, False, "up"),
        (-90, True, "up"),
        (90, True, "down"),
    ],
)
def test_front_follows_from_near_side_and_head(turn_deg: float, right_near: bool, front: str):
    seen = seen_at(turn_deg, right_near=right_near)
    side, _ = guess_near_side([weigh_sides(seen)])
    line = seen.sides_xy_px.mean(axis=0)
    cranial = line[LANDMARKS.index("shoulder")] - line[LANDMARKS.index("hip")]
    assert front_word(cranial, side) == front


def test_feet_and_face_against_the_labels_leave_doubt() -> None:
    seen = read_pass(raw_pose(UPRIGHT, left_near=False), Roi(400, 300, 512), mirrored=False)
    evidence = weigh_sides(seen)
    assert evidence.front > 0 > evidence.labels
    assert guess_near_side([evidence])[1] < 0.7


def test_a_body_without_a_trunk_gives_no_evidence() -> None:
    seen = seen_at(0)
    flat = replace(seen, sides_xy_px=np.zeros_like(seen.sides_xy_px))
    assert weigh_sides(flat) == SideEvidence(0.0, 0.0)
    assert guess_near_side([])[1] == 0.5


@given(st.lists(st.builds(SideEvidence, st.floats(-3, 3), st.floats(-3, 3)), min_size=1))
def test_confidence_lies_between_a_coin_and_certainty(evidence: list[SideEvidence]) -> None:
    assert 0.5 <= guess_near_side(evidence)[1] <= 1.0


def test_a_look_that_took_left_for_right_is_renamed() -> None:
    seen = seen_at(0)
    swapped = replace(seen, sides_xy_px=seen.sides_xy_px[::-1], depth_px=seen.depth_px[::-1])
    assert name_sides(swapped, -1.0, "left") == pytest.approx(seen.sides_xy_px)
    assert name_sides(seen, 1.0, "left") == pytest.approx(seen.sides_xy_px)
