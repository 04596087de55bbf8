"""Capped holds of many gymnasts at once, as measures that stand for their bounds.

The same fixed point as `core.capacity.censored` finds for one screen, reckoned in the few
noise-free values s = h·x that the bounds speak of.
"""

from collections.abc import Sequence

import numpy as np
import scipy  # its parts are loaded when they are used

from chordline.core.capacity.censored import Bound
from chordline.core.geometry.angles import Floats

_SWEEPS = 200
_TOLERANCE = 1e-10
_LOG_2PI = float(np.log(2.0 * np.pi))


def stand_for_bounds(
    mean: Floats, covariance: Floats, bounds: Sequence[tuple[Bound, ...]]
) -> tuple[Floats, Floats]:
    """Return pseudo-measures with a noise of variance 1 that stand for bounds.

    Parameters
    ----------
    mean : (g, d) float array
    covariance : (g, d, d) float array
        Of the beliefs after all other measures of the screen.
    bounds : sequence of tuples of Bound, g
        At least one each, over the first of the d states.

    Returns
    -------
    values : (g, b) float array
    matrix : (g, b, d) float array
        With empty rows for who has fewer bounds than others, and for bounds that tell nothing.

    Raises
    ------
    RuntimeError
        If the iteration does not settle.

    Notes
    -----
    Expectation propagation. With sites of precision τ and shift ν the belief over s ~ N(m, C) is
    (I + C T)⁻¹ (m + C ν), (I + C T)⁻¹ C, which needs no inverse of C.
    """
    g, d = mean.shape
    b = max(len(each) for each in bounds)
    rows, least, noise = np.zeros((g, b, d)), np.zeros((g, b)), np.ones((g, b))
    there = np.zeros((g, b), dtype=bool)
    for i, each in enumerate(bounds):
        for j, bound in enumerate(each):
            rows[i, j, : len(bound.row)] = bound.row
            least[i, j] = bound.above - bound.intercept
            noise[i, j] = bound.variance
            there[i, j] = True
    m = (rows @ mean[..., None])[..., 0]
    c = rows @ covariance @ rows.mT
    precision, shift = np.zeros((g, b)), np.zeros((g, b))
    for _ in range(_SWEEPS):
        before = np.concatenate([precision, shift])
        for j in range(b):
            precision[:, j], shift[:, j] = 0.0, 0.0
            m_cavity, c_cavity = _with_sites(m, c, precision, shift)
            precision[:, j], shift[:, j] = _sites(
                m_cavity[:, j], c_cavity[:, j, j], least[:, j], noise[:, j], there[:, j]
            )
        if b == 1 or np.allclose(
            before, np.concatenate([precision, shift]), rtol=_TOLERANCE, atol=1e-14
        ):
            break
    else:
        raise RuntimeError("the capped holds do not settle")
    root = np.sqrt(precision)
    values = np.divide(shift, root, out=np.zeros_like(root), where=root > 0.0)
    return values, root[..., None] * rows


def _with_sites(m: Floats, c: Floats, precision: Floats, shift: Floats) -> tuple[Floats, Floats]:
    mixed = np.eye(m.shape[1]) + c * precision[:, None, :]
    solved = np.linalg.solve(mixed, np.concatenate([c, m[..., None] + c @ shift[..., None]], -1))
    return solved[..., -1], solved[..., :-1]


def _sites(
    mean: Floats, variance: Floats, least: Floats, noise: Floats, there: np.ndarray
) -> tuple[Floats, Floats]:
    """Return precision and shift of one bound of each gymnast, given the belief without it."""
    there = there & (variance > 0.0)
    v = np.where(there, variance, 1.0)
    total = v + noise
    z = (mean - least) / np.sqrt(total)
    # Inverse Mills ratio φ(z)/Φ(z), by logarithms so that far tails do not divide zero by zero.
    ratio = np.exp(-0.5 * z * z - 0.5 * _LOG_2PI - scipy.special.log_ndtr(z))
    new_mean = mean + v / np.sqrt(total) * ratio
    new_variance = v - v**2 / total * ratio * (z + ratio)
    precision = 1.0 / new_variance - 1.0 / v
    tells = there & (precision > 0.0)
    shift = new_mean / new_variance - mean / v
    return np.where(tells, precision, 0.0), np.where(tells, shift, 0.0)
