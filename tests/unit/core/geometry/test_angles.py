"""Signed angles, checked against hand-made triangles and the words of conventions.py."""

import numpy as np
import pytest

from chordline.core.geometry.angles import cross, front_of, joint_opening, turn_towards_front
from stick_body import VIEWS, View

LEFT_NEAR, RIGHT_NEAR = np.array(1.0), np.array(-1.0)
every_view = pytest.mark.parametrize("view", VIEWS.values(), ids=VIEWS.keys())


def facing(view: View) -> np.ndarray:
    return LEFT_NEAR if view.near == "left" else RIGHT_NEAR


def spot(view: View, front: float, up_the_body: float) -> np.ndarray:
    return front * np.array(view.front) + up_the_body * np.array(view.head)


def test_cross_of_right_and_down_is_positive_in_the_photo_frame() -> None:
    assert cross(np.array([1.0, 0.0]), np.array([0.0, 1.0])) == 1.0
    assert cross(np.array([0.0, 1.0]), np.array([1.0, 0.0])) == -1.0


@every_view
def test_the_front_is_where_the_belly_faces(view: View) -> None:
    front = front_of(3.0 * np.array(view.head), facing(view))
    assert front == pytest.approx(np.array(view.front))


@every_view
def test_a_joint_on_the_line_opens_by_nothing(view: View) -> None:
    places = spot(view, 0, -10), spot(view, 0, 0), spot(view, 0, 25)
    assert joint_opening(*places, facing(view)) == pytest.approx(0.0, abs=1e-15)


@every_view
@pytest.mark.parametrize(("ahead", "sign"), [(10.0, 1.0), (-10.0, -1.0)])
def test_a_joint_in_front_of_the_line_opens_behind_it_closes(
    view: View, ahead: float, sign: float
) -> None:
    places = spot(view, 0, -10), spot(view, ahead, 0), spot(view, 0, 10)
    assert np.rad2deg(joint_opening(*places, facing(view))) == pytest.approx(sign * 90.0)


@every_view
def test_a_turn_towards_the_belly_is_positive(view: View) -> None:
    straight_up, leaning = spot(view, 0, 7), spot(view, 3, 3)
    turned = turn_towards_front(straight_up, leaning, facing(view))
    assert np.rad2deg(turned) == pytest.approx(45.0)


def test_nearly_straight_is_not_folded_to_a_positive_angle() -> None:
    ahead = np.array([-1e-6, 0.0, 1e-6])
    joint = np.stack([-ahead, np.zeros(3)], axis=-1)
    openings = joint_opening(np.array([0.0, 1.0]), joint, np.array([0.0, -1.0]), LEFT_NEAR)
    assert openings == pytest.approx(2.0 * ahead, rel=1e-6, abs=1e-18)


def test_a_missing_point_gives_nan() -> None:
    a, b, gap = np.array([0.0, 9.0]), np.array([0.0, 0.0]), np.array([np.nan, 1.0])
    assert np.isnan(joint_opening(gap, b, a, LEFT_NEAR))
    assert np.isnan(joint_opening(a, gap, b, LEFT_NEAR))
    assert np.isnan(joint_opening(a, b, gap, LEFT_NEAR))
    assert np.isnan(turn_towards_front(gap, a, LEFT_NEAR))


def test_a_neighbour_on_the_joint_gives_nan_and_not_half_a_turn() -> None:
    joint, other = np.array([5.0, 5.0]), np.array([0.0, 9.0])
    assert np.isnan(joint_opening(joint, joint, other, LEFT_NEAR))
    assert np.isnan(joint_opening(other, joint, joint, LEFT_NEAR))


def test_a_direction_without_length_gives_nan_and_not_nought() -> None:
    nothing, other = np.zeros(2), np.array([0.0, 9.0])
    assert np.isnan(turn_towards_front(nothing, other, LEFT_NEAR))
    assert np.isnan(turn_towards_front(other, nothing, LEFT_NEAR))


def test_many_bodies_with_facings_of_their_own() -> None:
    caudal, cranial = np.tile([0.0, 10.0], (2, 1)), np.tile([0.0, -10.0], (2, 1))
    joint = np.tile([-10.0, 0.0], (2, 1))
    openings = joint_opening(caudal, joint, cranial, np.array([1.0, -1.0]))
    assert np.rad2deg(openings) == pytest.approx([90.0, -90.0])
