"""Turned regions: where their pixels come from."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from chordline.adapters.pose.roi import Pyramid, Roi, apply_affine

regions = st.builds(
    Roi,
    st.floats(-500, 2000),
    st.floats(-500, 2000),
    st.floats(40, 4000),
    st.floats(-math.pi, math.pi),
)


@given(regions)
def test_the_middle_of_the_cut_is_the_middle_of_the_region(roi: Roi) -> None:
    middle = apply_affine(roi.affine(256), np.array([127.5, 127.5]))
    assert middle == pytest.approx([roi.x_px, roi.y_px], abs=1e-6)


@given(regions)
def test_hips_and_circle_point_give_the_region_back(roi: Roi) -> None:
    hips = np.array([roi.x_px, roi.y_px])
    radius = roi.side_px / 2.5
    rim = hips + radius * np.array([math.sin(roi.turn_rad), -math.cos(roi.turn_rad)])
    again = Roi.around(hips, rim)
    assert again.side_px == pytest.approx(roi.side_px)
    assert math.remainder(again.turn_rad - roi.turn_rad, math.tau) == pytest.approx(0, abs=1e-6)


def test_a_head_to_the_right_is_a_quarter_turn_clockwise() -> None:
    roi = Roi.around(np.array([100.0, 100.0]), np.array([150.0, 100.0]))
    assert roi.turn_rad == pytest.approx(math.pi / 2)
    up_in_cut = apply_affine(roi.affine(256), np.array([[127.5, 127.5], [127.5, 0.0]]))
    assert up_in_cut[1, 0] > up_in_cut[0, 0]
    assert up_in_cut[1, 1] == pytest.approx(up_in_cut[0, 1])


@pytest.mark.parametrize("size", [64, 256])
@pytest.mark.parametrize("turn_deg", [0.0, 37.0, 180.0])
def test_a_dot_is_cut_out_where_the_affine_says(size: int, turn_deg: float) -> None:
    y, x = np.mgrid[0:600, 0:800]
    dot = np.array([430.0, 260.0])
    bright = 255.0 * np.exp(-((x - dot[0]) ** 2 + (y - dot[1]) ** 2) / (2 * 14.0**2))
    picture = Pyramid(np.repeat(bright.astype(np.uint8)[..., None], 3, axis=2))
    roi = Roi(400.0, 300.0, 500.0, math.radians(turn_deg))
    cut = picture.cut(roi, size, extend_edge=False)[..., 0].astype(float)
    v, u = np.mgrid[0:size, 0:size]
    centre = np.array([(u * cut).sum(), (v * cut).sum()]) / cut.sum()
    assert apply_affine(roi.affine(size), centre) == pytest.approx(dot, abs=0.6)


def test_outside_the_picture_is_black_or_the_edge_drawn_out() -> None:
    picture = Pyramid(np.full((50, 50, 3), 200, np.uint8))
    roi = Roi(0.0, 25.0, 40.0)
    assert picture.cut(roi, 32, extend_edge=False)[16, 2, 0] == 0
    assert picture.cut(roi, 32, extend_edge=True)[16, 2, 0] == 200


def test_resembling_regions_hold_the_same_body_the_same_way_up() -> None:
    roi = Roi(100, 100, 200, 0.1)
    assert roi.resembles(Roi(110, 95, 220, -0.1))
    assert not roi.resembles(Roi(100, 100, 200, 0.1 + math.pi))
    assert not roi.resembles(Roi(100, 100, 500, 0.1))
    assert not roi.resembles(Roi(160, 100, 200, 0.1))
    assert Roi(102, 100, 205, 0.12).settled_from(roi)
    assert not Roi(102, 100, 260, 0.12).settled_from(roi)
