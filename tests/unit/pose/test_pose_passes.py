"""One look: naming the points, the heat map, the mirrored cut."""

import math

import numpy as np
import pytest
from fake_nets import UPRIGHT, mirrored, raw_pose

from chordline.adapters.pose.networks import LANDMARK_SIZE
from chordline.adapters.pose.passes import length_of, read_pass, refine
from chordline.adapters.pose.roi import Roi, apply_affine
from chordline.conventions import LANDMARKS

ROI = Roi(400.0, 300.0, 512.0, math.radians(20.0))


def test_landmarks_of_both_sides_land_in_the_picture() -> None:
    seen = read_pass(raw_pose(UPRIGHT), ROI, mirrored=False)
    for side in (0, 1):
        for name, point in (("malleolus", 27), ("hip", 23), ("ear", 7), ("toe", 31)):
            expected = apply_affine(
                ROI.affine(LANDMARK_SIZE), np.array(UPRIGHT[point + side], float) - 0.5
            )
            assert seen.sides_xy_px[side, LANDMARKS.index(name)] == pytest.approx(expected)


def test_the_hand_lies_between_the_knuckles() -> None:
    seen = read_pass(raw_pose(UPRIGHT), Roi(127.5, 127.5, 256.0), mirrored=False)
    assert seen.sides_xy_px[0, LANDMARKS.index("hand")] == pytest.approx([121.0, 136.0])


def test_a_mirrored_look_gives_the_same_landmarks_on_the_same_sides() -> None:
    straight = read_pass(raw_pose(UPRIGHT), ROI, mirrored=False)
    other = read_pass(raw_pose(mirrored(UPRIGHT), left_near=False), ROI, mirrored=True)
    assert other.sides_xy_px == pytest.approx(straight.sides_xy_px)
    assert other.depth_px == pytest.approx(straight.depth_px)
    assert other.visibility == pytest.approx(straight.visibility)
    assert other.face_xy_px == pytest.approx(straight.face_xy_px)
    assert other.next_roi.turn_rad == pytest.approx(straight.next_roi.turn_rad)
    assert other.mask.shape == straight.mask.shape


def test_the_mask_of_a_mirrored_look_is_turned_back() -> None:
    raw = raw_pose(UPRIGHT)
    seen = read_pass(raw, ROI, mirrored=True)
    assert seen.mask[100, 255 - 112] > 0.9
    assert seen.mask[100, 112] < 0.1
    assert np.array_equal(seen.mask, read_pass(raw, ROI, mirrored=False).mask[:, ::-1])


def test_a_point_moves_to_the_centre_of_its_peak() -> None:
    heat = np.full((64, 64, 1), -20.0, np.float32)
    heat[30, 20:23, 0] = 3.0
    moved = refine(np.array([[86.0, 118.0]]), heat)
    assert moved == pytest.approx(np.array([[84.0, 120.0]]), abs=0.01)


@pytest.mark.parametrize("point", [(86.0, 118.0), (-40.0, 10.0), (700.0, 30.0), (0.5, 255.9)])
def test_a_point_without_a_peak_stays(point: tuple[float, float]) -> None:
    heat = np.full((64, 64, 1), -20.0, np.float32)
    assert refine(np.array([point]), heat) == pytest.approx(np.array([point]))


def test_a_peak_at_the_rim_of_the_map_is_not_counted_twice() -> None:
    heat = np.full((64, 64, 1), -20.0, np.float32)
    heat[0, 0, 0] = 6.0
    assert refine(np.array([[2.0, 2.0]]), heat) == pytest.approx(np.array([[0.0, 0.0]]), abs=0.01)


def test_the_length_runs_along_the_body() -> None:
    xy = np.zeros((len(LANDMARKS), 2))
    for name, y in (("malleolus", 0), ("knee", 3), ("hip", 7), ("shoulder", 12), ("ear", 14)):
        xy[LANDMARKS.index(name)] = (0, y)
    assert length_of(xy) == pytest.approx(14.0)


def test_the_regression_head_counts_with_its_share() -> None:
    raw = raw_pose(UPRIGHT)
    u, v = UPRIGHT[25]
    raw.heat[v // 4, u // 4 + 2, 25] = 9.0
    knee = LANDMARKS.index("knee")
    at = [
        read_pass(raw, ROI, mirrored=False, regression_share={"knee": share}).sides_xy_px[0, knee]
        for share in (0.0, 0.5, 1.0)
    ]
    assert at[1] == pytest.approx((at[0] + at[2]) / 2)
    assert np.linalg.norm(at[0] - at[2]) > 5.0
