"""One camera and one card, checked against poses set up by hand; cards without noise."""

import numpy as np
import pytest

from chordline.core.geometry.camera import (
    Camera,
    card_points,
    locate_card,
    project,
    seen_when_lying,
    seen_when_upright,
)

SIDE_M = 0.16
PHONE = Camera(1600.0, 1e-6, np.array([800.0, 600.0]))


def facing_camera(*, yaw_deg: float = 0.0, lean_right_deg: float = 0.0) -> np.ndarray:
    """Card-to-camera rotation of a card turned about its upright, in a camera turned by a roll."""
    yaw, roll = np.deg2rad([yaw_deg, lean_right_deg])
    about_upright = np.array(
        [[np.cos(yaw), 0, np.sin(yaw)], [0, 1, 0], [-np.sin(yaw), 0, np.cos(yaw)]]
    )
    towards_camera = np.diag([1.0, -1.0, -1.0])
    in_picture = np.array(
        [[np.cos(roll), -np.sin(roll), 0], [np.sin(roll), np.cos(roll), 0], [0, 0, 1]]
    )
    return in_picture @ towards_camera @ about_upright


def corners(rotation: np.ndarray, shift: tuple[float, float, float]) -> np.ndarray:
    points = np.column_stack([card_points(SIDE_M), np.zeros(4)])
    return project(PHONE, rotation, np.array(shift), points)


def test_focal_length_in_film_millimetres_is_per_diagonal() -> None:
    camera = Camera.of_photo(3600, 2400, 43.266615)
    assert camera.focal_px == pytest.approx(np.hypot(3600, 2400), rel=1e-6)


def test_the_centre_lies_between_the_middle_pixels() -> None:
    assert Camera.of_photo(1600, 1200, 26.0).centre_px.tolist() == [799.5, 599.5]


def test_a_photo_without_focal_length_is_less_sure_of_it() -> None:
    guessed, told = Camera.of_photo(1600, 1200, None), Camera.of_photo(1600, 1200, 26.0)
    assert guessed.focal_px == told.focal_px
    assert guessed.focal_rel_sd > told.focal_rel_sd


def test_card_points_run_clockwise_from_the_top_left() -> None:
    assert card_points(2.0).tolist() == [[-1, 1], [1, 1], [1, -1], [-1, -1]]


def test_an_upright_card_is_seen_upright_and_by_its_size() -> None:
    seen = corners(facing_camera(), (0.0, 0.0, 4.0))
    half = 1600.0 * 0.08 / 4.0
    expected = np.array([[-half, -half], [half, -half], [half, half], [-half, half]])
    assert seen - PHONE.centre_px == pytest.approx(expected)


def test_the_distance_of_a_frontal_card_follows_from_its_size() -> None:
    pose = locate_card(
        PHONE, corners(facing_camera(), (0.5, 0.1, 2.0)), side_m=SIDE_M, corner_sd_px=0.05
    )
    assert pose.distance_m.value == pytest.approx(np.hypot(np.hypot(0.5, 0.1), 2.0), abs=0.005)
    assert pose.distance_m.sd < 0.01


@pytest.mark.parametrize("yaw_deg", [-25.0, 25.0])
def test_yaw_is_positive_when_the_card_looks_to_the_right(yaw_deg: float) -> None:
    rotation = facing_camera(yaw_deg=yaw_deg)
    normal_in_camera = rotation[:, 2]
    assert np.sign(normal_in_camera[0]) == np.sign(yaw_deg)
    pose = locate_card(PHONE, corners(rotation, (0, 0, 1.5)), side_m=SIDE_M, corner_sd_px=0.05)
    assert np.rad2deg(pose.yaw.value) == pytest.approx(yaw_deg, abs=0.2)


@pytest.mark.parametrize("lean_deg", [-8.0, 8.0])
def test_roll_is_positive_when_uprights_lean_to_the_right(lean_deg: float) -> None:
    seen = corners(facing_camera(lean_right_deg=lean_deg), (0.0, 0.0, 3.0))
    top, bottom = seen[:2].mean(axis=0), seen[2:].mean(axis=0)
    assert np.sign(top[0] - bottom[0]) == np.sign(lean_deg)
    pose = locate_card(PHONE, seen, side_m=SIDE_M, corner_sd_px=0.05)
    assert np.rad2deg(pose.roll.value) == pytest.approx(lean_deg, abs=0.2)


def test_a_phone_above_the_card_reads_a_positive_height() -> None:
    # A level camera 0.5 m above: the card lies 0.5 m below the optical axis (y down).
    pose = locate_card(
        PHONE, corners(facing_camera(), (0.0, 0.5, 2.0)), side_m=SIDE_M, corner_sd_px=0.05
    )
    assert pose.camera_height_m.value == pytest.approx(0.5, abs=3 * pose.camera_height_m.sd)
    assert pose.camera_height_m.sd < 0.05


def test_straight_ahead_of_a_square_plane_is_the_middle_of_the_picture() -> None:
    pose = locate_card(
        PHONE, corners(facing_camera(), (0.6, 0.4, 2.0)), side_m=SIDE_M, corner_sd_px=0.05
    )
    assert pose.ahead_px == pytest.approx(PHONE.centre_px, abs=1600 * 0.03)


def test_ahead_is_where_a_nearer_point_moves_away_from() -> None:
    rotation, shift = facing_camera(yaw_deg=20.0), np.array([0.2, 0.1, 2.0])
    on_plane = np.array([[0.0, 0.0, 0.0], [0.4, 0.3, 0.0]])
    nearer = on_plane + np.array([0.0, 0.0, 0.05])
    before = project(PHONE, rotation, shift, on_plane)
    after = project(PHONE, rotation, shift, nearer)
    pose = locate_card(PHONE, corners(rotation, tuple(shift)), side_m=SIDE_M, corner_sd_px=0.02)
    for start, end in zip(before, after, strict=True):
        away = start - pose.ahead_px
        assert (end - start) @ away > 0.0
        across = np.cross([*away, 0.0], [*(end - start), 0.0])[2]
        assert abs(across) < 0.02 * np.linalg.norm(away) * np.linalg.norm(end - start)


def test_a_blurred_focal_length_blurs_the_distance_in_proportion() -> None:
    seen = corners(facing_camera(yaw_deg=25.0), (0.0, 0.0, 4.0))
    blurred = Camera(PHONE.focal_px, 0.1, PHONE.centre_px)
    # At 4 m, with corners blurred by 0.3 px, the keystone tells next to nothing of the lens.
    pose = locate_card(blurred, seen, side_m=SIDE_M, corner_sd_px=0.3)
    assert pose.distance_m.sd / pose.distance_m.value == pytest.approx(0.1, rel=0.15)


def test_a_far_frontal_card_admits_that_it_cannot_tell_the_yaw() -> None:
    seen = corners(facing_camera(), (0.0, 0.0, 8.0))
    pose = locate_card(PHONE, seen, side_m=SIDE_M, corner_sd_px=0.3)
    assert np.rad2deg(pose.yaw.sd) > 4.0


def test_corners_on_one_line_are_refused() -> None:
    flat = np.array([[0.0, 0.0], [10.0, 0.0], [20.0, 0.0], [30.0, 0.0]])
    with pytest.raises(ValueError, match="on one line"):
        locate_card(PHONE, flat, side_m=SIDE_M, corner_sd_px=0.3)


def test_yaw_makes_a_lying_body_look_more_bent_and_a_handstand_less() -> None:
    angle, yaw = np.deg2rad([10.0, -10.0]), np.deg2rad(20.0)
    assert np.rad2deg(seen_when_lying(angle, yaw)) == pytest.approx([10.63, -10.63], abs=0.005)
    assert np.rad2deg(seen_when_upright(angle, yaw)) == pytest.approx([9.41, -9.41], abs=0.005)
