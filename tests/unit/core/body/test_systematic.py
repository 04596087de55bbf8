"""Errors that a second photo would repeat, checked against hand-made geometry."""

import numpy as np
import pytest

from chordline.core.body.systematic import (
    Viewpoint,
    definition_error,
    near_side_parallax,
    pitch_error,
    yaw_error,
)
from chordline.core.estimate import Estimate
from stick_body import STRAIGHT, VIEWS, see, with_places

HIP, LINE = "hip_opening_deg", "line_from_vertical_deg"
PRONE, UPSIDE_DOWN = VIEWS["prone, head left"], VIEWS["upside-down, belly right"]
ARCH = with_places(hip=(6, 72))


def view(
    *,
    yaw_deg: tuple[float, float] = (0.0, 0.0),
    pitch_deg: tuple[float, float] = (0.0, 0.0),
    ahead: tuple[float, float] = (800.0, 600.0),
    ahead_sd_px: float = 0.0,
    distance_m: float = 3.0,
) -> Viewpoint:
    def rad(pair: tuple[float, float]) -> Estimate:
        return Estimate(float(np.deg2rad(pair[0])), float(np.deg2rad(pair[1])))

    return Viewpoint(rad(yaw_deg), rad(pitch_deg), np.array(ahead), ahead_sd_px, distance_m)


def bend_deg(height: float) -> float:
    return float(np.rad2deg(np.arctan(height / 37) + np.arctan(height / 43)))


def test_square_to_the_camera_yaw_and_pitch_cost_nothing() -> None:
    body = see(ARCH, PRONE)
    assert yaw_error(body, view(), (HIP,)) == pytest.approx([0.0])
    assert pitch_error(body, view(), (HIP,)) == pytest.approx([0.0])


def test_yaw_stretches_the_horizontal_of_a_lying_body() -> None:
    # Seen: 6 cm over 37 and 43 cm. Unyawed by 20°, the lengths are longer by 1 / cos 20°.
    costs = yaw_error(see(ARCH, PRONE), view(yaw_deg=(20.0, 0.0)), (HIP,))
    assert costs == pytest.approx([bend_deg(6) - bend_deg(6 * np.cos(np.deg2rad(20)))])


def test_yaw_shrinks_the_bow_of_a_handstand() -> None:
    costs = yaw_error(see(ARCH, UPSIDE_DOWN), view(yaw_deg=(20.0, 0.0)), (HIP,))
    assert costs == pytest.approx([bend_deg(6 / np.cos(np.deg2rad(20))) - bend_deg(6)])


def test_pitch_does_to_a_handstand_what_yaw_does_to_a_lying_body() -> None:
    turned = (12.0, 0.0)
    upright = pitch_error(see(ARCH, UPSIDE_DOWN), view(pitch_deg=turned), (HIP,))
    lying = yaw_error(see(ARCH, PRONE), view(yaw_deg=turned), (HIP,))
    assert upright == pytest.approx(lying)


def test_a_yaw_not_known_costs_as_much_as_one_known() -> None:
    body = see(ARCH, PRONE)
    known, unknown = view(yaw_deg=(-10.0, 0.0)), view(yaw_deg=(0.0, 10.0))
    assert yaw_error(body, known, (HIP,)) == pytest.approx(yaw_error(body, unknown, (HIP,)))


def test_a_straight_lying_body_stays_straight_under_yaw() -> None:
    costs = yaw_error(see(STRAIGHT, PRONE), view(yaw_deg=(25.0, 5.0)), (HIP, "bow_max_pct"))
    assert costs == pytest.approx([0.0, 0.0], abs=1e-9)


def test_landmarks_of_one_depth_cost_no_angle() -> None:
    body = see(ARCH, PRONE)
    breadth = np.full(len(body.names), 0.1)
    high = view(ahead=(800.0, 100.0))
    assert near_side_parallax(body, high, (HIP,), half_breadth_m=breadth) == pytest.approx(
        [0.0], abs=1e-9
    )


def test_a_wide_hip_seen_from_above_drops_by_depth_over_distance() -> None:
    body = see(STRAIGHT, PRONE)
    breadth = np.array([0.09 if name == "hip" else 0.0 for name in body.names])
    above = view(ahead=(800.0, 100.0), distance_m=3.0)
    # 500 px below the vanishing point, 3 % of that: 15 px = 2.5 cm off the line.
    expected = bend_deg(500 * 0.03 / 6.0)
    cost = near_side_parallax(body, above, (HIP,), half_breadth_m=breadth)
    assert cost == pytest.approx([expected], rel=0.03)


def test_a_phone_at_the_height_of_the_body_keeps_the_parallax_small() -> None:
    body = see(STRAIGHT, PRONE)
    breadth = np.array([0.09 if name == "hip" else 0.0 for name in body.names])
    level = near_side_parallax(body, view(ahead=(800.0, 600.0)), (HIP,), half_breadth_m=breadth)
    assert level == pytest.approx([0.0], abs=1e-9)


def test_a_height_not_known_costs_like_a_height() -> None:
    body = see(STRAIGHT, PRONE)
    breadth = np.array([0.09 if name == "hip" else 0.0 for name in body.names])
    doubtful = view(ahead=(800.0, 600.0), ahead_sd_px=500.0)
    above = view(ahead=(800.0, 100.0))
    costs = [
        near_side_parallax(body, where, (HIP,), half_breadth_m=breadth)[0]
        for where in (doubtful, above)
    ]
    assert costs[0] == pytest.approx(costs[1], rel=0.01)


def test_a_breadth_that_is_not_known_counts_as_none() -> None:
    body = see(STRAIGHT, PRONE)
    breadth = np.full(len(body.names), np.nan)
    cost = near_side_parallax(body, view(ahead=(0.0, 0.0)), (HIP,), half_breadth_m=breadth)
    assert cost == pytest.approx([0.0], abs=1e-9)


def test_a_landmark_off_its_joint_costs_one_over_the_segment() -> None:
    body = see(STRAIGHT, UPSIDE_DOWN)
    sd = np.array([5.0 if name == "hand" else 0.0 for name in body.names])
    costs = definition_error(body, (LINE,), sd_px=sd)
    assert costs == pytest.approx([np.rad2deg(5.0 / (166 * 6))])
