"""How errors of landmarks become errors of measures."""

from collections.abc import Callable

import numpy as np
from scipy.stats import norm, qmc

from chordline.core.geometry.angles import Floats

#: Step of the central differences [px]: far above rounding, far below any landmark's error.
_STEP_PX = 0.01


def jacobian(function: Callable[[Floats], Floats], points: Floats) -> Floats:
    """Return the derivative of measures by the coordinates of points.

    Parameters
    ----------
    function : callable
        (n, k, 2) points → (n, m) measures, vectorised over n.
    points : (k, 2) float array [px]
        NaN for points that are not there; their derivatives are 0.

    Returns
    -------
    (m, k, 2) float array [unit of the measure / px]

    Notes
    -----
    Central differences, all in one call of `function`.
    """
    k = len(points)
    shifts = np.eye(2 * k).reshape(2 * k, k, 2) * _STEP_PX
    values = function(np.concatenate([points + shifts, points - shifts]))
    slopes = (values[: 2 * k] - values[2 * k :]) / (2.0 * _STEP_PX)
    present = np.isfinite(points).all(axis=-1)
    by_measure = slopes.T.reshape(-1, k, 2)
    return np.where(present[None, :, None], by_measure, 0.0)


def covariance(by_points: Floats, sd_px: Floats) -> Floats:
    """Return the covariance of measures whose points err independently and in all directions.

    Parameters
    ----------
    by_points : (m, k, 2) float array
        From `jacobian`.
    sd_px : (k,) float array [px]
        Error of each point along each axis.

    Returns
    -------
    (m, m) float array
    """
    scaled = by_points * np.where(np.isfinite(sd_px), sd_px, 0.0)[None, :, None]
    flat = scaled.reshape(len(by_points), -1)
    return np.asarray(flat @ flat.T)


def gaussian_points(dimension: int, *, log2_count: int = 12) -> Floats:
    """Return a fixed low-discrepancy set of standard normal points, (2**log2_count, dimension).

    The same points at every call: results that rest on them repeat to the last digit.
    """
    uniform = qmc.Sobol(dimension, rng=0).random_base2(log2_count)
    return np.asarray(norm.ppf(uniform))


def extend_covariance(
    mean: Floats, cov: Floats, derived: Callable[[Floats], Floats]
) -> tuple[Floats, Floats]:
    """Carry a Gaussian through a function that is not smooth, such as a largest magnitude.

    Parameters
    ----------
    mean : (m,) float array
    cov : (m, m) float array
    derived : callable
        (n, m) → (n, d).

    Returns
    -------
    cross : (d, m) float array
        Covariance of the derived values with the given ones.
    own : (d, d) float array
        Covariance of the derived values among themselves.

    Notes
    -----
    Moments over a fixed set of Gaussian points: near a kink a first derivative would lie.
    """
    values, vectors = np.linalg.eigh(cov)
    root = vectors * np.sqrt(np.clip(values, 0.0, None))
    deviations = gaussian_points(len(mean)) @ root.T
    out = derived(mean + deviations)
    out = out - out.mean(axis=0)
    n = len(deviations)
    return np.asarray(out.T @ deviations / n), np.asarray(out.T @ out / n)
