"""Bows from the chord, checked against distances counted by hand."""

import numpy as np
import pytest

from chordline.core.geometry.chord import bow_fraction, largest_bow, rms_bow
from stick_body import VIEWS, View

GAP = np.nan


@pytest.mark.parametrize("view", VIEWS.values(), ids=VIEWS.keys())
def test_a_bow_counts_towards_the_belly_in_parts_of_the_chord(view: View) -> None:
    axes = np.array([view.front, view.head])
    start, end = np.array([0.0, 0.0]) @ axes, np.array([0.0, 200.0]) @ axes
    points = np.array([[10.0, 50.0], [-20.0, 150.0], [0.0, 260.0]]) @ axes
    bows = bow_fraction(points, start, end, np.array(1.0 if view.near == "left" else -1.0))
    assert bows == pytest.approx([0.05, -0.10, 0.0])


def test_a_missing_point_spoils_only_its_own_bow() -> None:
    points = np.array([[3.0, 50.0], [GAP, 50.0]])
    bows = bow_fraction(points, np.zeros(2), np.array([0.0, 100.0]), np.array(1.0))
    assert bows[0] == pytest.approx(0.03)
    assert np.isnan(bows[1])


def test_a_chord_without_length_has_no_bow() -> None:
    bows = bow_fraction(np.ones((3, 2)), np.zeros(2), np.zeros(2), np.array(1.0))
    assert np.isnan(bows).all()


def test_the_largest_bow_keeps_its_sign() -> None:
    assert largest_bow(np.array([0.02, -0.05, 0.04])) == -0.05
    assert largest_bow(np.array([[0.02, 0.01], [-0.03, GAP]])) == pytest.approx([0.02, -0.03])


def test_the_largest_of_no_known_bow_is_not_known() -> None:
    assert np.isnan(largest_bow(np.array([GAP, GAP])))


def test_the_rms_bow_leaves_out_what_is_missing() -> None:
    assert rms_bow(np.array([0.03, GAP, -0.04])) == pytest.approx(np.sqrt(0.00125))
    assert np.isnan(rms_bow(np.array([GAP, GAP])))
