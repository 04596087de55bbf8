"""What yaw does to the bend of a body, checked against a body turned in space and projected.

The table is computed, not published: 'angle seen for a symmetric bend', lying and in handstand, for
a camera far away. Here it is computed again without its formula: a bent stick in three dimensions,
turned about the vertical by scipy, its depth then left out.
"""

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from chordline.core.body.points import BodyPoints
from chordline.core.body.systematic import Viewpoint, yaw_error
from chordline.core.estimate import Estimate
from chordline.core.geometry.camera import seen_when_lying, seen_when_upright

#: Bend, yaw, seen lying, seen in handstand [deg], as printed.
TABLE = [
    (10.0, 10.0, 10.15, 9.85),
    (10.0, 20.0, 10.64, 9.40),
    (10.0, 30.0, 11.54, 8.67),
    (20.0, 20.0, 21.26, 18.82),
    (20.0, 30.0, 23.02, 17.36),
]
HALF_LAST_DIGIT = 0.005


def photograph(bend_deg: float, yaw_deg: float, *, lying: bool) -> np.ndarray:
    """Knee, hip, shoulder in a far camera's picture (y down); equal segments, hip to the front."""
    half = np.deg2rad(bend_deg) / 2.0
    along, off = np.cos(half), np.sin(half)
    body = np.array([[-along, 0.0, 0.0], [0.0, off, 0.0], [along, 0.0, 0.0]])  # x right, y up
    if not lying:
        body = Rotation.from_euler("z", 90, degrees=True).apply(body)
    turned = Rotation.from_euler("y", yaw_deg, degrees=True).apply(body)
    return 400.0 * turned[:, :2] * [1.0, -1.0] + [800.0, 600.0]


def bend_seen_deg(picture: np.ndarray) -> float:
    first, second = picture[1] - picture[0], picture[2] - picture[1]
    between = first @ second / np.linalg.norm(first) / np.linalg.norm(second)
    return float(np.rad2deg(np.arccos(between)))


@pytest.mark.parametrize(("bend", "yaw", "lying", "upright"), TABLE)
def test_the_table_is_what_a_far_camera_sees(
    bend: float, yaw: float, lying: float, upright: float
) -> None:
    seen_lying = bend_seen_deg(photograph(bend, yaw, lying=True))
    seen_upright = bend_seen_deg(photograph(bend, yaw, lying=False))
    assert seen_lying == pytest.approx(lying, abs=HALF_LAST_DIGIT)
    assert seen_upright == pytest.approx(upright, abs=HALF_LAST_DIGIT)


@pytest.mark.parametrize(("bend", "yaw", "lying", "upright"), TABLE)
def test_each_half_of_the_bend_follows_the_tangent_rule(
    bend: float, yaw: float, lying: float, upright: float
) -> None:
    half, turn = np.deg2rad(bend / 2.0), np.deg2rad(yaw)
    assert 2 * np.rad2deg(seen_when_lying(half, turn)) == pytest.approx(lying, abs=HALF_LAST_DIGIT)
    assert 2 * np.rad2deg(seen_when_upright(half, turn)) == pytest.approx(
        upright, abs=HALF_LAST_DIGIT
    )


@pytest.mark.parametrize("lying", [True, False], ids=["lying", "handstand"])
@pytest.mark.parametrize(("bend", "yaw"), [row[:2] for row in TABLE])
def test_the_yaws_error_is_what_was_seen_less_what_was_there(
    bend: float, yaw: float, lying: bool
) -> None:
    picture = photograph(bend, yaw, lying=lying)
    body = BodyPoints(("knee", "hip", "shoulder"), picture[None], facing=1.0)
    nobody_ahead = np.zeros(2)
    view = Viewpoint(
        Estimate(np.deg2rad(yaw), 0.0), Estimate(0.0, 0.0), nobody_ahead, 0.0, distance_m=1e6
    )
    (cost,) = yaw_error(body, view, ("hip_opening_deg",))
    assert cost == pytest.approx(abs(bend_seen_deg(picture) - bend), abs=1e-6)
