"""Propagation of errors, checked against measures whose covariance is known in closed form."""

import numpy as np
import pytest

from chordline.core.geometry.propagation import (
    covariance,
    extend_covariance,
    gaussian_points,
    jacobian,
    sample_covariance,
)


def width_and_sum(points: np.ndarray) -> np.ndarray:
    """x of the second point minus x of the first, and the sum of both ys."""
    return np.column_stack([points[:, 1, 0] - points[:, 0, 0], points[:, :2, 1].sum(axis=1)])


SPOTS = np.array([[100.0, 50.0], [300.0, 70.0], [7.0, 8.0]])


def test_the_slopes_of_a_linear_measure_are_exact() -> None:
    expected = [[[-1, 0], [1, 0], [0, 0]], [[0, 1], [0, 1], [0, 0]]]
    assert jacobian(width_and_sum, SPOTS) == pytest.approx(np.array(expected, float), abs=1e-9)


def test_the_slope_of_an_angle_is_one_over_the_length() -> None:
    def slant(points: np.ndarray) -> np.ndarray:
        return np.arctan2(points[:, 1, 1] - points[:, 0, 1], points[:, 1, 0] - points[:, 0, 0])[
            :, None
        ]

    slopes = jacobian(slant, np.array([[0.0, 0.0], [200.0, 0.0]]))
    assert slopes == pytest.approx(np.array([[[0, -1 / 200], [0, 1 / 200]]]), abs=1e-9)


def test_a_missing_point_has_no_slope() -> None:
    holed = SPOTS.copy()
    holed[2] = np.nan
    slopes = jacobian(width_and_sum, holed)
    assert np.isfinite(slopes).all()
    assert (slopes[:, 2] == 0.0).all()


def test_independent_errors_add_in_squares() -> None:
    cov = covariance(jacobian(width_and_sum, SPOTS), np.array([3.0, 4.0, 9.0]))
    assert cov == pytest.approx(np.array([[25.0, 0.0], [0.0, 25.0]]), abs=1e-6)


def test_an_unknown_error_of_a_point_that_is_not_used_does_no_harm() -> None:
    cov = covariance(jacobian(width_and_sum, SPOTS), np.array([3.0, 4.0, np.nan]))
    assert np.diag(cov) == pytest.approx([25.0, 25.0])


@pytest.mark.parametrize("dimension", [1, 3, 52])
def test_gaussian_points_have_the_moments_of_a_standard_normal(dimension: int) -> None:
    points = gaussian_points(dimension)
    assert points.mean(axis=0) == pytest.approx(np.zeros(dimension), abs=1e-12)
    cov = points.T @ points / len(points)
    assert cov == pytest.approx(np.eye(dimension), abs=1e-12)
    # Fourth moment of a standard normal: 3, with sd √(96 / n) over n draws.
    assert (points**4).mean(axis=0) == pytest.approx(3.0, abs=4.5 * np.sqrt(96 / len(points)))


def test_gaussian_points_repeat_and_cannot_be_spoilt() -> None:
    assert gaussian_points(4) is gaussian_points(4)
    with pytest.raises(ValueError, match="read-only"):
        gaussian_points(4)[0, 0] = 1.0


def test_sampling_agrees_with_first_order_for_a_linear_measure() -> None:
    sd = np.array([3.0, 4.0, 9.0])
    slopes = jacobian(width_and_sum, SPOTS)
    cross, own = sample_covariance(width_and_sum, SPOTS, sd, slopes)
    assert own == pytest.approx(covariance(slopes, sd), abs=1e-6)
    assert cross == pytest.approx(covariance(slopes, sd), abs=1e-6)


def test_sampling_sees_what_a_slope_does_not() -> None:
    def magnitude(points: np.ndarray) -> np.ndarray:
        return np.abs(points[:, 0, :1])

    at_the_kink = np.array([[0.0, 0.0]])
    slopes = jacobian(magnitude, at_the_kink)
    assert slopes == pytest.approx(0.0)
    _, own = sample_covariance(magnitude, at_the_kink, np.array([2.0]), slopes)
    # Half-normal: variance σ² (1 − 2/π).
    assert own[0, 0] == pytest.approx(4.0 * (1.0 - 2.0 / np.pi), rel=0.03)


def test_a_missing_point_is_not_moved_when_sampling() -> None:
    holed = SPOTS.copy()
    holed[2] = np.nan
    sd = np.array([3.0, 4.0, np.nan])
    cross, own = sample_covariance(width_and_sum, holed, sd, jacobian(width_and_sum, holed))
    assert np.diag(own) == pytest.approx([25.0, 25.0])
    assert np.diag(cross) == pytest.approx([25.0, 25.0])


def test_the_larger_of_two_equal_gaussians_has_its_known_moments() -> None:
    # max(X, Y) of independent standard normals: variance 1 − 1/π; covariance with X: 1/2.
    cross, own = extend_covariance(
        np.zeros(2), np.eye(2), lambda rows: rows.max(axis=1, keepdims=True)
    )
    assert own[0, 0] == pytest.approx(1.0 - 1.0 / np.pi, rel=0.03)
    assert cross[0] == pytest.approx([0.5, 0.5], abs=0.02)


def test_a_linear_derived_value_is_carried_exactly_even_with_a_singular_covariance() -> None:
    cov = np.array([[4.0, 4.0], [4.0, 4.0]])
    cross, own = extend_covariance(
        np.array([1.0, 2.0]), cov, lambda rows: rows.sum(axis=1, keepdims=True)
    )
    assert own[0, 0] == pytest.approx(16.0)
    assert cross[0] == pytest.approx([8.0, 8.0])
