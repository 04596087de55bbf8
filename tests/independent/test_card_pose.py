"""The card's pose, checked against OpenCV's planar solver and against poses that are known.

OpenCV's IPPE gives both poses that a square allows; ours must, without noise, be the true one and
agree with one of the two. With noise its intervals must hold the truth as often as they say.
"""

import cv2
import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from chordline.core.geometry.camera import Camera, CardPose, card_points, locate_card, project

SIDE_M = 0.16
PHONE = Camera(1617.9, 1e-6, np.array([799.5, 599.5]))
SQUARE = np.column_stack([card_points(SIDE_M), np.zeros(4)])
#: Two-sided 90 % of a normal distribution.
NINETY = 1.645

#: Yaw, pitch, roll [deg]; place of the card before the camera [m].
POSES = {
    "nearly frontal, aside": ((1.0, 0.5, 0.0), (-0.7, 0.1, 3.0)),
    "phone turned": ((8.0, 6.0, 2.0), (-0.7, 0.2, 3.0)),
    "well turned": ((25.0, 10.0, -5.0), (0.4, 0.0, 2.0)),
    "from the other side": ((-30.0, 4.0, 1.0), (0.2, -0.3, 4.0)),
}


def stand(angles_deg: tuple[float, float, float], place: tuple[float, float, float]):
    yaw, pitch, roll = angles_deg
    turn = Rotation.from_euler("ZXY", [roll, pitch, yaw], degrees=True).as_matrix()
    return turn @ np.diag([1.0, -1.0, -1.0]), np.array(place)


def describe(rotation: np.ndarray, shift: np.ndarray) -> np.ndarray:
    """Yaw, roll [rad], distance, camera height [m]."""
    normal, upright = rotation[:, 2], rotation[:, 1]
    height = -(shift @ rotation)[1]
    return np.array(
        [
            np.arctan2(normal[0], -normal[2]),
            np.arctan2(upright[0], -upright[1]),
            np.linalg.norm(shift),
            height,
        ]
    )


def by_opencv(corners_px: np.ndarray) -> list[np.ndarray]:
    matrix = np.array([[1617.9, 0, 799.5], [0, 1617.9, 599.5], [0, 0, 1]])
    _, turns, shifts, _ = cv2.solvePnPGeneric(
        SQUARE, corners_px, matrix, None, flags=cv2.SOLVEPNP_IPPE_SQUARE
    )
    return [
        describe(cv2.Rodrigues(turn)[0], shift.ravel())
        for turn, shift in zip(turns, shifts, strict=True)
    ]


def described(pose: CardPose) -> tuple[np.ndarray, np.ndarray]:
    parts = (pose.yaw, pose.roll, pose.distance_m, pose.camera_height_m)
    return np.array([p.value for p in parts]), np.array([p.sd for p in parts])


@pytest.mark.parametrize(("angles_deg", "place"), POSES.values(), ids=POSES.keys())
def test_clean_corners_give_the_true_pose_and_that_of_opencv(angles_deg, place) -> None:
    rotation, shift = stand(angles_deg, place)
    corners = project(PHONE, rotation, shift, SQUARE)
    values, _ = described(locate_card(PHONE, corners, side_m=SIDE_M, corner_sd_px=0.01))
    assert values == pytest.approx(describe(rotation, shift), abs=2e-3)
    nearest = min(by_opencv(corners), key=lambda theirs: np.abs(values - theirs).max())
    assert values == pytest.approx(nearest, abs=2e-3)


def test_noisy_corners_of_a_well_turned_card_give_the_pose_of_opencv() -> None:
    rng = np.random.default_rng(8)
    rotation, shift = stand(*POSES["well turned"])
    for _ in range(5):
        corners = project(PHONE, rotation, shift, SQUARE) + rng.normal(0, 0.3, (4, 2))
        values, sds = described(locate_card(PHONE, corners, side_m=SIDE_M, corner_sd_px=0.3))
        assert (np.abs(values - by_opencv(corners)[0]) < 1.5 * sds).all()


def test_where_both_of_opencvs_poses_fit_the_interval_holds_both() -> None:
    rng = np.random.default_rng(4)
    rotation, shift = stand((10.0, 0.0, 0.0), (0.0, 0.0, 5.0))
    corners = project(PHONE, rotation, shift, SQUARE) + rng.normal(0, 0.3, (4, 2))
    yaws = [solution[0] for solution in by_opencv(corners)]
    assert abs(yaws[0] - yaws[1]) > np.deg2rad(10.0)
    pose = locate_card(PHONE, corners, side_m=SIDE_M, corner_sd_px=0.3)
    assert all(abs(yaw - pose.yaw.value) < 2.0 * pose.yaw.sd for yaw in yaws)


def coverage(draws: int, *, distance_m: tuple[float, float], sd_factor: float = 1.0) -> np.ndarray:
    """Share of 90 % intervals that hold the truth: yaw, roll, distance, camera height."""
    rng = np.random.default_rng(20)
    held = np.zeros(4)
    for _ in range(draws):
        depth = rng.uniform(*distance_m)
        angles = (rng.uniform(-25, 25), rng.uniform(-2, 15), rng.normal(0, 3))
        place = depth * np.array([rng.uniform(-0.3, 0.3), rng.uniform(-0.15, 0.15), 1.0])
        rotation, shift = stand(angles, tuple(place))
        corners = project(PHONE, rotation, shift, SQUARE) + rng.normal(0, 0.3, (4, 2))
        values, sds = described(locate_card(PHONE, corners, side_m=SIDE_M, corner_sd_px=0.3))
        held += np.abs(values - describe(rotation, shift)) < NINETY * sd_factor * sds
    return held / draws


@pytest.mark.slow
@pytest.mark.parametrize("distance_m", [(2.0, 4.0), (4.0, 8.0)], ids=["near", "far"])
def test_ninety_in_a_hundred_intervals_hold_the_truth(distance_m: tuple[float, float]) -> None:
    held = coverage(200, distance_m=distance_m)
    assert (held >= 0.80).all(), held
    assert (held <= 0.97).all(), held


def test_intervals_of_half_the_width_are_found_out() -> None:
    held = coverage(100, distance_m=(2.0, 4.0), sd_factor=0.5)
    assert (held < 0.80).all(), held
