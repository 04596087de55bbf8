"""What a gain is worth: bow that it is expected to take away."""

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
import scipy  # its parts are loaded when they are used

from chordline.core.estimate import Estimate

_SLICES: Final = 200


def weigh_payoff(payoff: Estimate, doubt_weight: float) -> float:
    """Return what a payoff counts for [% of chord / unit], never negative.

    Parameters
    ----------
    payoff : Estimate [% of chord / unit]
    doubt_weight : float, 0 to 1

    Notes
    -----
    value × (1 − weight × min(1, sd / value)): a payoff as uncertain as it is large loses the whole
    weight, one without any doubt loses nothing, and none turns into a harm by being uncertain.
    """
    value = max(payoff.value, 0.0)
    return max(value - doubt_weight * payoff.sd, (1.0 - doubt_weight) * value)


def share_missing(shortfall: Estimate, gained: float) -> float:
    """Return the probability that something is still missing after so much was gained.

    It is the derivative of `expect_gain`: what the next unit is good for.
    """
    if shortfall.sd <= 0.0:
        return 1.0 if shortfall.value > gained else 0.0
    return _below((shortfall.value - gained) / shortfall.sd)


def expect_gain(shortfall: Estimate, gain: float) -> float:
    """Return how much of a shortfall a gain is expected to take away [its unit].

    Parameters
    ----------
    shortfall : Estimate
        Normal; positive = missing.
    gain : float, 0 or more

    Notes
    -----
    E[min(max(X, 0), g)] for X ~ N(m, s²) is the integral of P(X > t) for t from 0 to g, hence
    s·(ψ(m/s) − ψ((m − g)/s)) with ψ(z) = z·Φ(z) + φ(z). It is concave in g: nobody gains what she
    does not miss. Gains of one block after the other add up, for E[min(max(X, 0), g + h)] =
    E[min(max(X, 0), g)] + E[min(max(X − g, 0), h)].

    Examples
    --------
    >>> round(expect_gain(Estimate(10.0, 0.0), 4.0), 3)
    4.0
    >>> round(expect_gain(Estimate(0.0, 5.0), 100.0), 3)
    1.995
    """
    return expect_more(shortfall, gained=0.0, more=gain)


def expect_missing(shortfall: Estimate) -> float:
    """Return how much is expected to be missing [its unit]: E[max(X, 0)]."""
    if shortfall.sd <= 0.0:
        return max(shortfall.value, 0.0)
    return shortfall.sd * _psi(shortfall.value / shortfall.sd)


def expect_taken(shortfall: Estimate, gain: Estimate) -> Estimate:
    """Return what of a shortfall a gain is expected to take away, with its sd [its unit].

    As `expect_gain`, for a gain that is uncertain as well, and never negative. Nobody gains what
    she does not miss.

    Notes
    -----
    Mean and sd over quantiles of both, independent of one another; within 1 % of their sd.
    """
    # Middles of slices of the standard normal distribution, as probable each.
    quantiles = scipy.special.ndtri((np.arange(_SLICES) + 0.5) / _SLICES)
    missing = np.maximum(shortfall.value + shortfall.sd * quantiles[:, None], 0.0)
    given = np.maximum(gain.value + gain.sd * quantiles[None, :], 0.0)
    taken = np.minimum(missing, given)
    return Estimate(float(taken.mean()), float(taken.std()))


def _below(z: float) -> float:
    """Return Φ(z)."""
    return 0.5 * math.erfc(-z / math.sqrt(2.0))


def _psi(z: float) -> float:
    return z * _below(z) + math.exp(-0.5 * z * z) / math.sqrt(2.0 * math.pi)


def expect_more(shortfall: Estimate, *, gained: float, more: float) -> float:
    """Return how much of a shortfall a gain takes away that comes after another one [its unit]."""
    m, s = shortfall.value - gained, shortfall.sd
    if s <= 0.0:
        return min(max(m, 0.0), more)
    return s * (_psi(m / s) - _psi((m - more) / s))


@dataclass(frozen=True)
class Piece:
    """A stretch of gain over which every unit counts the same.

    Attributes
    ----------
    length : float [capacity's unit]
    slope : float, 0 to 1
        Share of it that is expected to have been missing.
    """

    length: float
    slope: float


def cut_pieces(shortfall: Estimate, *, gained: float, most: float, error: float) -> list[Piece]:
    """Return straight pieces that lie on or above `expect_gain` from `gained` on.

    Parameters
    ----------
    shortfall : Estimate
        At the beginning of the plan.
    gained : float
        What earlier blocks are expected to give.
    most : float
        The largest gain that can be added.
    error : float
        Largest share of the whole by which the pieces exceed the curve.

    Notes
    -----
    Tangents at evenly spaced points, doubled until they are close enough; slopes fall from piece
    to piece, so a maximum fills them in order by itself.
    """
    after = Estimate(shortfall.value - gained, shortfall.sd)
    whole = expect_gain(after, most)
    if most <= 0.0 or whole <= 0.0:
        return []
    count = 1
    while True:
        pieces = _tangents(after, most, count)
        if count >= 64 or _largest_excess(after, pieces) <= error * whole:
            return [one for one in pieces if one.length > 0.0 and one.slope > 0.0]
        count *= 2


def _tangents(after: Estimate, most: float, count: int) -> list[Piece]:
    touch = [most * i / count for i in range(count + 1)]
    slopes = [share_missing(after, t) for t in touch]
    values = [expect_gain(after, t) for t in touch]
    ends = [0.0]
    for i in range(count):
        bend = slopes[i] - slopes[i + 1]
        meet = touch[i + 1]
        if bend > 1e-12:
            # Where the tangents at both ends of the interval meet.
            meet = (
                values[i + 1] - values[i] + slopes[i] * touch[i] - slopes[i + 1] * touch[i + 1]
            ) / bend
        ends.append(min(max(meet, touch[i]), touch[i + 1]))
    ends.append(most)
    return [Piece(b - a, slope) for a, b, slope in zip(ends, ends[1:], slopes, strict=False)]


def _largest_excess(after: Estimate, pieces: list[Piece]) -> float:
    """Return by how much the pieces exceed the curve at most: at their corners."""
    at = above = worst = 0.0
    for one in pieces:
        at += one.length
        above += one.length * one.slope
        worst = max(worst, above - expect_gain(after, at))
    return worst
