"""Capped holds: 'at least so long' is not a number but a bound.

A hold that reached its cap tells that the log-seconds would have been above the cap's. The
posterior is no Gaussian any more; expectation propagation finds the Gaussian whose moments agree,
and is exact for a single bound.
"""

from dataclasses import dataclass

import numpy as np
import scipy  # its parts are loaded when they are used

from chordline.core.capacity.model import Belief
from chordline.core.capacity.update import Evidence, Updated, update
from chordline.core.geometry.angles import Floats

_SWEEPS = 200
_TOLERANCE = 1e-10
_LOG_2PI = float(np.log(2.0 * np.pi))


@dataclass(frozen=True)
class Bound:
    """A measure that is known only to lie above a value.

    Attributes
    ----------
    above : float
    row : (d,) float array
        Row of H.
    intercept : float
    variance : float
        Of the measure's own noise, > 0.
    """

    above: float
    row: Floats
    intercept: float
    variance: float


def update_with_bounds(prior: Belief, evidence: Evidence, bounds: tuple[Bound, ...]) -> Updated:
    """Return the belief after measures and bounds.

    Returns
    -------
    Updated
        `shifts` and `surprise` hold the measures first, then the bounds in their order; a bound's
        surprise is NaN.

    Raises
    ------
    RuntimeError
        If the iteration does not settle.

    Notes
    -----
    Each bound is stood for by a Gaussian pseudo-measure of its noise-free value s = h·x, chosen so
    that the moments of s agree with those under the bound's likelihood
    Φ((s + b − above) / √variance). With one bound this is exact in mean and variance.
    """
    if not bounds:
        return update(prior, evidence)
    m, n = len(evidence.values), len(bounds)
    rows = np.array([bound.row for bound in bounds])
    precision, shift = np.zeros(n), np.zeros(n)
    plain = update(prior, evidence).belief
    for _ in range(_SWEEPS):
        before = np.concatenate([precision, shift])
        for i, bound in enumerate(bounds):
            others = (np.arange(n) != i) & (precision > 0.0)
            cavity = _with_sites(plain, rows[others], precision[others], shift[others])
            precision[i], shift[i] = _site(cavity, bound)
        after = np.concatenate([precision, shift])
        if n == 1 or np.allclose(before, after, rtol=_TOLERANCE, atol=1e-14):
            break
    else:
        raise RuntimeError("the capped holds do not settle")
    there = precision > 0.0
    pseudo = Evidence(
        values=np.concatenate([evidence.values, shift[there] / precision[there]]),
        matrix=np.vstack([evidence.matrix, rows[there]]),
        intercepts=np.concatenate([evidence.intercepts, np.zeros(there.sum())]),
        noise=_block(evidence.noise, np.diag(1.0 / precision[there])),
    )
    result = update(prior, pseudo)
    shifts = np.zeros((len(prior.mean), m + n))
    keep = np.concatenate([np.ones(m, dtype=bool), there])
    shifts[:, keep] = result.shifts
    surprise = np.concatenate([result.surprise[:m], np.full(n, np.nan)])
    return Updated(result.belief, shifts, surprise)


def _with_sites(plain: Belief, rows: Floats, precision: Floats, shift: Floats) -> Belief:
    """Return the belief after pseudo-measures."""
    if not len(rows):
        return plain
    evidence = Evidence(
        values=shift / precision,
        matrix=rows,
        intercepts=np.zeros(len(rows)),
        noise=np.diag(1.0 / precision),
    )
    return update(plain, evidence).belief


def _site(cavity: Belief, bound: Bound) -> tuple[float, float]:
    """Return precision and shift of one bound's pseudo-measure, given the belief without it."""
    mean = float(bound.row @ cavity.mean)
    variance = float(bound.row @ cavity.covariance @ bound.row)
    total = variance + bound.variance
    z = (mean + bound.intercept - bound.above) / np.sqrt(total)
    # Inverse Mills ratio φ(z)/Φ(z), by logarithms so that far tails do not divide zero by zero.
    ratio = float(np.exp(-0.5 * z * z - 0.5 * _LOG_2PI - scipy.special.log_ndtr(z)))
    new_mean = mean + variance / np.sqrt(total) * ratio
    new_variance = variance - variance**2 / total * ratio * (z + ratio)
    site_precision = max(1.0 / new_variance - 1.0 / variance, 0.0)
    return site_precision, new_mean / new_variance - mean / variance


def _block(one: Floats, other: Floats) -> Floats:
    out = np.zeros((len(one) + len(other),) * 2)
    out[: len(one), : len(one)] = one
    out[len(one) :, len(one) :] = other
    return out
