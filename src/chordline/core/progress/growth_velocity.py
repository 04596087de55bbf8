"""How fast a child grows, from statures taken on whichever days there were."""

from dataclasses import dataclass

import numpy as np
import scipy  # its parts are loaded when they are used

from chordline.core.estimate import Estimate
from chordline.core.geometry.angles import Floats
from chordline.core.progress.abstained import Abstained


@dataclass(frozen=True)
class GrowthRules:
    """What a growth velocity rests on; the catalogue has the figures with their reasons.

    Attributes
    ----------
    stature_sd_cm : float [cm]
        Of one measured stature: the measuring and the time of day.
    least_years, most_years : float [years]
        Shortest and longest span over which one velocity is told.
    shrunk_sds : float
        So many sd of a difference must a stature fall before it contradicts an earlier one.
    """

    stature_sd_cm: float
    least_years: float
    most_years: float
    shrunk_sds: float


@dataclass(frozen=True)
class GrowthVelocity:
    """Growth over one span.

    Attributes
    ----------
    velocity : Estimate [cm/year]
        Positive = growing; the sd is that of the measuring alone.
    from_years, to_years : float [years]
        Ages at both ends.
    used, left_out : int
        Statures in the span; statures without a value.
    """

    velocity: Estimate
    from_years: float
    to_years: float
    used: int
    left_out: int


@dataclass(frozen=True)
class Shrunk:
    """Two statures that cannot both be right.

    Attributes
    ----------
    earlier_years, later_years : float [years]
    by_cm : float [cm]
        How much smaller the later one is.
    """

    earlier_years: float
    later_years: float
    by_cm: float


def measure_velocity(
    ages_years: Floats, statures_cm: Floats, rules: GrowthRules
) -> GrowthVelocity | Abstained:
    """Return the growth velocity up to the latest stature.

    Parameters
    ----------
    ages_years, statures_cm : (n,) float arrays
        In any order; a pair with NaN is left out and counted.
    rules : GrowthRules

    Returns
    -------
    GrowthVelocity or Abstained
        Nothing or one stature, a span too short or too long, or statures in it that contradict
        each other (`have` = cm lost): which of them is wrong is for the coach to say.

    Notes
    -----
    Taken is the shortest run of statures up to the latest that spans `least_years`. Velocity is
    the slope of the least-squares line, its sd stature_sd / √Σ(t − mean t)². Growth is taken as
    steady within the run: a spurt that has just begun is told too low.
    """
    ages, statures = np.asarray(ages_years, np.float64), np.asarray(statures_cm, np.float64)
    there = ~(np.isnan(ages) | np.isnan(statures))
    order = np.argsort(ages[there], kind="stable")
    ages, statures = ages[there][order], statures[there][order]
    left_out = int((~there).sum())
    if len(ages) < 2:
        return Abstained("one-measurement", have=len(ages), need=2)
    if statures.min() <= 0.0:
        return Abstained("impossible-size", have=float(statures.min()), need=0.0)
    # Half a day of slack: six months between two calendar days are not always 0.5 years.
    slack = 0.5 / 365.25
    reaching = np.flatnonzero(ages[-1] - ages >= rules.least_years - slack)
    if len(reaching) == 0:
        return Abstained(
            "too-close-together", have=float(ages[-1] - ages[0]), need=rules.least_years
        )
    ages, statures = ages[reaching[-1] :], statures[reaching[-1] :]
    span = float(ages[-1] - ages[0])
    if span > rules.most_years + slack:
        return Abstained("too-far-apart", have=span, need=rules.most_years)
    shrunk = find_shrunk(ages, statures, rules)
    if shrunk is not None:
        return Abstained("stature-shrank", have=shrunk.by_cm)
    about = ages - ages.mean()
    weight = float(about @ about)
    return GrowthVelocity(
        velocity=Estimate(
            value=float(about @ statures) / weight, sd=rules.stature_sd_cm / float(np.sqrt(weight))
        ),
        from_years=float(ages[0]),
        to_years=float(ages[-1]),
        used=len(ages),
        left_out=left_out,
    )


def find_shrunk(ages_years: Floats, statures_cm: Floats, rules: GrowthRules) -> Shrunk | None:
    """Return the largest loss of stature that is beyond measuring error, or None.

    Parameters
    ----------
    ages_years, statures_cm : (n,) float arrays, without NaN
        In any order; two statures of one day contradict each other either way.
    rules : GrowthRules
    """
    order = np.lexsort((-np.asarray(statures_cm), np.asarray(ages_years)))
    ages, statures = np.asarray(ages_years)[order], np.asarray(statures_cm)[order]
    if len(ages) < 2:
        return None
    tallest = np.maximum.accumulate(statures)
    loss = tallest - statures
    later = int(np.argmax(loss))
    if loss[later] <= rules.shrunk_sds * np.sqrt(2.0) * rules.stature_sd_cm:
        return None
    earlier = int(np.argmax(statures[: later + 1]))
    return Shrunk(float(ages[earlier]), float(ages[later]), float(loss[later]))


def chance_of_fast_growth(velocity: Estimate, *, fast_cm_per_year: float) -> float:
    """Return the probability that she grows faster than a threshold.

    Parameters
    ----------
    velocity : Estimate [cm/year]
    fast_cm_per_year : float [cm/year]

    Notes
    -----
    Normal errors, and no opinion beforehand on how children grow: with statures half a year apart
    the chance stays near a half for long, which is what such statures tell.
    """
    return float(scipy.special.ndtr((velocity.value - fast_cm_per_year) / velocity.sd))
