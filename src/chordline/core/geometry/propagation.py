"""How errors of landmarks become errors of measures."""

from collections.abc import Callable
from functools import cache

import numpy as np

from chordline.core.geometry.angles import Floats

#: Step of the central differences [px]: far above rounding, far below any landmark's error.
_STEP_PX = 0.01
_POINTS = 8192
_SEED = 20_260


def jacobian(function: Callable[[Floats], Floats], points: Floats) -> Floats:
    """Return the derivative of measures by the coordinates of points.

    Parameters
    ----------
    function : callable
        (n, k, 2) points → (n, m) measures, vectorised over n.
    points : (k, 2) float array [px]
        NaN for points that are not there; measures that do without them have derivative 0.

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
    return np.asarray(slopes.T.reshape(-1, k, 2))


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
    flat = scaled.reshape(len(by_points), 2 * len(sd_px))
    return np.asarray(flat @ flat.T)


@cache
def gaussian_points(dimension: int, *, count: int = _POINTS) -> Floats:
    """Return a fixed set of points with the moments of a standard normal, (count, dimension).

    The same points at every call, so results that rest on them repeat to the last digit. Each
    point stands with its mirror image, and the whole set is scaled to unit covariance: the moments
    of a linear measure come out exact. `count` is even; the array is read-only.
    """
    half = np.random.default_rng(_SEED).standard_normal((count // 2, dimension))
    points = np.concatenate([half, -half])
    cholesky = np.linalg.cholesky(points.T @ points / count)
    points = np.ascontiguousarray(np.linalg.solve(cholesky, points.T).T)
    points.setflags(write=False)
    return points


def sample_covariance(
    function: Callable[[Floats], Floats], points: Floats, sd_px: Floats, by_points: Floats
) -> tuple[Floats, Floats]:
    """Return the covariance of measures that are not straight within the points' errors.

    Parameters
    ----------
    function : callable
        (n, k, 2) points → (n, r) measures, vectorised over n.
    points : (k, 2) float array [px]
    sd_px : (k,) float array [px]
    by_points : (m, k, 2) float array
        Derivative of the other measures, from `jacobian`.

    Returns
    -------
    cross : (r, m) float array
        Covariance with those other measures.
    own : (r, r) float array

    Notes
    -----
    Moments over `gaussian_points`; together with `covariance` they make a matrix without negative
    eigenvalues.
    """
    k = len(points)
    present = np.isfinite(points).all(axis=-1) & np.isfinite(sd_px)
    spread = np.where(present, sd_px, 0.0)
    deviations = gaussian_points(2 * k).reshape(-1, k, 2) * spread[None, :, None]
    out = function(points + deviations)
    out = out - out.mean(axis=0)
    others = deviations.reshape(-1, 2 * k) @ by_points.reshape(-1, 2 * k).T
    n = len(deviations)
    return np.asarray(out.T @ others / n), np.asarray(out.T @ out / n)


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
