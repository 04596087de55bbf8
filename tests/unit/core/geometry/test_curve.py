"""Fitted curves, checked against cubics that they must reproduce and shapes seen by eye."""

import numpy as np
import pytest

from chordline.core.geometry.curve import fit_curve, sagitta_fraction, turning
from stick_body import VIEWS, View

LEFT_NEAR = np.array(1.0)
HEIGHTS = np.linspace(0.0, 40.0, 7)


def bulge(size: float) -> np.ndarray:
    """Points (front, up the body) of a back that bulges towards the belly by `size`."""
    return np.column_stack([4.0 * size * HEIGHTS * (40.0 - HEIGHTS) / 40.0**2, HEIGHTS])


def test_evenly_spaced_marks_on_a_straight_line_are_met() -> None:
    curve = fit_curve(np.column_stack([3.0 * HEIGHTS, -4.0 * HEIGHTS]))
    halfway = curve.at(np.array([0.0, 0.5, 1.0]))
    assert halfway == pytest.approx(np.array([[0, 0], [60, -80], [120, -160]]), abs=1e-9)


def test_the_tangent_points_towards_the_head_with_the_curves_length() -> None:
    curve = fit_curve(np.column_stack([3.0 * HEIGHTS, -4.0 * HEIGHTS]))
    assert curve.tangent(np.array([0.3])) == pytest.approx(np.array([[120.0, -160.0]]))


def test_four_marks_are_met_exactly() -> None:
    marks = np.array([[0.0, 0.0], [3.0, 4.0], [2.0, 9.0], [-5.0, 12.0]])
    steps = np.linalg.norm(np.diff(marks, axis=0), axis=1)
    where = np.concatenate([[0.0], np.cumsum(steps)]) / steps.sum()
    assert fit_curve(marks).at(where) == pytest.approx(marks, abs=1e-9)


@pytest.mark.parametrize("view", VIEWS.values(), ids=VIEWS.keys())
@pytest.mark.parametrize("sign", [1.0, -1.0], ids=["hollow", "rounded"])
def test_a_hollow_back_bulges_to_the_belly_and_turns_backwards(view: View, sign: float) -> None:
    facing = np.array(1.0 if view.near == "left" else -1.0)
    curve = fit_curve(bulge(5.0 * sign) @ np.array([view.front, view.head]))
    assert sagitta_fraction(curve, facing) == pytest.approx(sign * 5.0 / 40.0, rel=0.01)
    # A parabola leaves its chord at atan(4 h / L) and comes back at the same angle; a cubic of the
    # length along it overshoots there by less than a tenth.
    assert turning(curve, 0.0, 1.0, facing) == pytest.approx(sign * 2 * np.arctan(0.5), rel=0.1)


def test_the_turns_of_two_halves_add_up() -> None:
    curve = fit_curve(bulge(5.0))
    lower, upper = turning(curve, 0.0, 0.5, LEFT_NEAR), turning(curve, 0.5, 1.0, LEFT_NEAR)
    assert lower + upper == pytest.approx(turning(curve, 0.0, 1.0, LEFT_NEAR))
    assert lower == pytest.approx(upper)


def test_the_larger_bulge_of_an_s_gives_the_sagitta() -> None:
    heights = np.linspace(0.0, 1.0, 8)
    offset = heights * (1.0 - heights) * (heights - 0.4)  # behind first, then more in front
    marks = np.column_stack([offset, heights]) @ np.array([[-1.0, 0.0], [0.0, -1.0]])
    assert sagitta_fraction(fit_curve(marks), LEFT_NEAR) > 0.05


def test_a_plain_arc_evens_out_an_s_that_a_cubic_follows() -> None:
    heights = np.linspace(0.0, 1.0, 9)
    marks = np.column_stack([0.1 * np.sin(2.0 * np.pi * heights), -heights])
    cubic, arc = fit_curve(marks), fit_curve(marks, degree=2)
    assert abs(sagitta_fraction(cubic, LEFT_NEAR)) > 0.06
    assert abs(sagitta_fraction(arc, LEFT_NEAR)) < 1e-9


def test_a_plain_arc_needs_only_three_marks() -> None:
    marks = np.array([[0.0, 0.0], [-2.0, -5.0], [0.0, -10.0]])
    assert sagitta_fraction(fit_curve(marks, degree=2), LEFT_NEAR) == pytest.approx(0.2)
    with pytest.raises(ValueError, match="at least 3 points, not 2"):
        fit_curve(marks[:2], degree=2)


def test_too_few_marks_are_refused() -> None:
    with pytest.raises(ValueError, match="at least 4 points, not 3"):
        fit_curve(np.zeros((3, 2)))


def test_a_missing_mark_leaves_the_curve_unknown_and_its_neighbours_known() -> None:
    marks = np.stack([bulge(5.0), bulge(5.0)])
    marks[0, 2, 1] = np.nan
    sagittas = sagitta_fraction(fit_curve(marks), LEFT_NEAR)
    assert np.isnan(sagittas[0])
    assert np.isfinite(sagittas[1])


def test_marks_on_fewer_than_four_places_leave_the_curve_unknown() -> None:
    a, b, c = [0.0, 0.0], [3.0, 9.0], [5.0, 20.0]
    assert np.isnan(fit_curve(np.array([a, b, b, c])).coefficients).all()
    assert np.isnan(fit_curve(np.array([a, a, a, a])).coefficients).all()


def test_a_doubled_mark_among_enough_others_does_no_harm() -> None:
    marks = bulge(5.0)
    doubled = np.insert(marks, 3, marks[3], axis=0)
    expected = sagitta_fraction(fit_curve(marks), LEFT_NEAR)
    assert sagitta_fraction(fit_curve(doubled), LEFT_NEAR) == pytest.approx(expected, rel=0.02)
