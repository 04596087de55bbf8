"""Homographies and the gymnast's plane, checked against squares that can be seen."""

import numpy as np
import pytest

from chordline.core.geometry.plane import PlaneFrame, apply_homography, fit_homography

SQUARE = np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]])


def test_a_shifted_and_scaled_square_is_a_shift_and_a_scale() -> None:
    h = fit_homography(SQUARE, 50.0 * SQUARE + [3.0, 4.0])
    assert h == pytest.approx(np.array([[50, 0, 3], [0, 50, 4], [0, 0, 1]]), abs=1e-9)


def test_a_keystone_maps_the_middle_to_the_crossing_of_its_diagonals() -> None:
    keystone = np.array([[0.0, 0.0], [6.0, 0.0], [4.0, 2.0], [2.0, 2.0]])
    h = fit_homography(SQUARE, keystone)
    assert apply_homography(h, SQUARE) == pytest.approx(keystone)
    # From (0, 0) to (4, 2) and from (6, 0) to (2, 2): they cross at (3, 1.5).
    assert apply_homography(h, np.array([0.5, 0.5])) == pytest.approx([3.0, 1.5])


def test_points_of_any_shape_are_mapped() -> None:
    h = fit_homography(SQUARE, 2.0 * SQUARE)
    assert apply_homography(h, np.ones((3, 5, 2))) == pytest.approx(np.full((3, 5, 2), 2.0))


def test_three_pairs_are_refused() -> None:
    with pytest.raises(ValueError, match="at least four pairs"):
        fit_homography(SQUARE[:3], SQUARE[:3])


def test_unequal_numbers_are_refused() -> None:
    with pytest.raises(ValueError, match="at least four pairs"):
        fit_homography(np.vstack([SQUARE, [[2.0, 2.0]]]), SQUARE)


@pytest.mark.parametrize("side", ["source", "target", "both"])
def test_three_of_four_on_one_line_are_refused(side: str) -> None:
    bent = np.array([[0.0, 0.0], [1.0, 0.0], [2.0, 0.0], [0.0, 1.0]])
    source = SQUARE if side == "target" else bent
    target = SQUARE if side == "source" else bent
    with pytest.raises(ValueError, match="on one line"):
        fit_homography(source, target)


def test_a_gap_is_refused() -> None:
    holed = SQUARE.copy()
    holed[2, 0] = np.nan
    with pytest.raises(ValueError, match="without gaps"):
        fit_homography(holed, SQUARE)


def test_height_counts_against_gravity_from_the_floor() -> None:
    frame = PlaneFrame(np.array([0.0, -1.0]), m_per_px=0.002, floor_px=np.array([50.0, 900.0]))
    heights = frame.height_m(np.array([[400.0, 800.0], [700.0, 900.0], [0.0, 950.0]]))
    assert heights == pytest.approx([0.2, 0.0, -0.1])


def test_height_follows_a_tilted_picture() -> None:
    up = np.array([0.6, -0.8])
    frame = PlaneFrame(up, m_per_px=0.01, floor_px=np.array([100.0, 100.0]))
    assert frame.height_m(np.array([100.0, 100.0]) + 30.0 * up) == pytest.approx(0.3)


@pytest.mark.parametrize("floor", [None, np.zeros(2)], ids=["nothing", "floor only"])
def test_height_is_not_known_without_scale(floor: np.ndarray | None) -> None:
    frame = PlaneFrame(np.array([0.0, -1.0]), m_per_px=None, floor_px=floor)
    assert np.isnan(frame.height_m(np.ones((4, 2)))).all()


def test_height_is_not_known_without_a_floor() -> None:
    frame = PlaneFrame(np.array([0.0, -1.0]), m_per_px=0.002)
    assert np.isnan(frame.height_m(np.ones((4, 2)))).all()


def test_a_level_phone_has_gravity_down_the_picture_and_knows_no_scale() -> None:
    frame = PlaneFrame.of_level_phone()
    assert frame.up.tolist() == [0.0, -1.0]
    assert frame.m_per_px is None
    assert frame.floor_px is None
