"""Bland and Altman: by how much two ways of measuring differ."""

from dataclasses import dataclass

import numpy as np
import scipy  # its parts are loaded when they are used

from chordline.core.geometry.angles import Floats
from chordline.core.progress.abstained import Abstained
from chordline.core.progress.agreement_cases import Fewest, take_complete

#: Standard deviations on either side of the mean that hold 95 % of a normal distribution.
SDS_95 = 1.96
#: The rounder factor of the 1986 paper.
SDS_1986 = 2.0


@dataclass(frozen=True)
class Bounded:
    """A figure with its confidence interval, in the measure's unit."""

    value: float
    low: float
    high: float


@dataclass(frozen=True)
class ProportionalBias:
    """Whether the difference grows with what is measured.

    Attributes
    ----------
    slope : Bounded
        Difference per unit of the mean of both.
    found : bool
        The slope's interval leaves out 0. It also does where one of the two merely scatters more.
    """

    slope: Bounded
    found: bool


@dataclass(frozen=True)
class Limits:
    """Bias and limits of agreement; differences are the first minus the second.

    Attributes
    ----------
    bias : Bounded
        Mean difference.
    sd : float
        Of the differences.
    lower, upper : Bounded
        Between them lie 95 % of all differences.
    proportional : ProportionalBias or None
        None where all subjects are alike.
    pairs, left_out : int
    """

    bias: Bounded
    sd: float
    lower: Bounded
    upper: Bounded
    proportional: ProportionalBias | None
    pairs: int
    left_out: int


def compare_pairs(
    first: Floats, second: Floats, *, fewest: Fewest | None = None, level: float = 0.95
) -> Limits | Abstained:
    """Return bias and 95 % limits of agreement, with exact intervals.

    Parameters
    ----------
    first, second : (n,) float arrays
        The same subjects measured twice; pairs with NaN are left out and counted.
    fewest : Fewest, optional
        `subjects` counts the pairs.
    level : float
        Of the intervals.

    Notes
    -----
    Limits are bias ± 1.96 sd. Interval of the bias by Student's t. Intervals of the limits by the
    noncentral t distribution, each limit for itself: the approximation of 1986 (`limits_1986`)
    is too narrow with the few pairs that a club has.

    References
    ----------
    bland-altman-1986; carkeet-2015.
    """
    cases = take_complete(np.column_stack([first, second]), Fewest() if fewest is None else fewest)
    if isinstance(cases, Abstained):
        return _of_pairs(cases)
    difference = cases.ratings[:, 0] - cases.ratings[:, 1]
    n = len(difference)
    bias, sd = float(difference.mean()), float(difference.std(ddof=1))
    half = float(scipy.stats.t.ppf(0.5 + level / 2, n - 1)) * sd / np.sqrt(n)
    # bias + c·sd covers the quantile z of the differences where c·√n is a quantile of the
    # noncentral t with shift z·√n.
    inner, outer = (
        float(scipy.stats.nct.ppf(p, n - 1, SDS_95 * np.sqrt(n))) / np.sqrt(n)
        for p in (0.5 - level / 2, 0.5 + level / 2)
    )
    return Limits(
        bias=Bounded(bias, bias - half, bias + half),
        sd=sd,
        lower=Bounded(bias - SDS_95 * sd, bias - outer * sd, bias - inner * sd),
        upper=Bounded(bias + SDS_95 * sd, bias + inner * sd, bias + outer * sd),
        proportional=_find_proportional(cases.ratings, difference, level),
        pairs=n,
        left_out=cases.left_out,
    )


def limits_1986(
    first: Floats, second: Floats, *, fewest: Fewest | None = None
) -> tuple[Bounded, Bounded] | Abstained:
    """Return the limits as the 1986 paper has them: bias ± 2 sd, 95 % intervals by √(3 sd²/n).

    For comparing with studies of that kind; `compare_pairs` is ours.

    References
    ----------
    bland-altman-1986, pp. 308-309.
    """
    cases = take_complete(np.column_stack([first, second]), Fewest() if fewest is None else fewest)
    if isinstance(cases, Abstained):
        return _of_pairs(cases)
    difference = cases.ratings[:, 0] - cases.ratings[:, 1]
    n = len(difference)
    bias, sd = float(difference.mean()), float(difference.std(ddof=1))
    half = float(scipy.stats.t.ppf(0.975, n - 1)) * sd * np.sqrt(3.0 / n)
    lower, upper = bias - SDS_1986 * sd, bias + SDS_1986 * sd
    return Bounded(lower, lower - half, lower + half), Bounded(upper, upper - half, upper + half)


def repeatability_coefficient(first: Floats, second: Floats, *, sds: float = SDS_95) -> float:
    """Return what two readings of one subject differ by less than, 19 times in 20.

    Parameters
    ----------
    first, second : (n,) float arrays, without NaN
    sds : float
        1.96 of today or the 2 of 1986 (`SDS_1986`).

    Notes
    -----
    sds · root mean square of the differences: the mean difference is taken to be 0, for it is the
    same method twice. A second photo that is always looser than the first counts as error here.

    References
    ----------
    bland-altman-1986, p. 309.
    """
    difference = np.asarray(first, dtype=np.float64) - np.asarray(second, dtype=np.float64)
    return sds * float(np.sqrt(np.mean(difference**2)))


def _of_pairs(why: Abstained) -> Abstained:
    return Abstained("too-few-pairs", have=why.have, need=why.need)


def _find_proportional(
    ratings: Floats, difference: Floats, level: float
) -> ProportionalBias | None:
    middle = ratings.mean(axis=1)
    if np.ptp(middle) <= 1e-12 * np.abs(ratings).max():
        return None
    fitted = scipy.stats.linregress(middle, difference)
    half = float(scipy.stats.t.ppf(0.5 + level / 2, len(middle) - 2)) * float(fitted.stderr)
    slope = float(fitted.slope)
    # A line through rounding alone has a slope of 1e-17 and no scatter: not a finding.
    sure = abs(slope) > half and abs(slope) > 1e-9
    return ProportionalBias(Bounded(slope, slope - half, slope + half), found=sure)
