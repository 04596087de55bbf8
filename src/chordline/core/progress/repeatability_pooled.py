"""The scatter of repeat photos, and how a club's own study replaces the default step by step."""

from dataclasses import dataclass

import numpy as np
import scipy  # its parts are loaded when they are used

from chordline.core.geometry.angles import Floats
from chordline.core.progress.abstained import Abstained
from chordline.core.progress.agreement_cases import Fewest, take_complete
from chordline.core.progress.agreement_limits import Bounded
from chordline.core.progress.repeatability import bound_sd


@dataclass(frozen=True)
class PooledSd:
    """Scatter of one photo about what many photos of the same test would show.

    Attributes
    ----------
    sd : Bounded [the measure's unit]
    shift : Bounded
        Second photo minus first, on average: warming up or tiring, no scatter.
    freedom : int
        Degrees of freedom behind the sd.
    pairs, left_out : int
    """

    sd: Bounded
    shift: Bounded
    freedom: int
    pairs: int
    left_out: int


@dataclass(frozen=True)
class ShrunkSd:
    """A default sd and the club's own in one.

    Attributes
    ----------
    sd : Bounded
        Root of the variance's posterior mean, with its posterior interval.
    own_share : float
        Weight of the club's own variance, 0 to 1.
    """

    sd: Bounded
    own_share: float


def pool_within_sd(
    first: Floats, second: Floats, *, fewest: Fewest | None = None, level: float = 0.95
) -> PooledSd | Abstained:
    """Return the sd of one photo from tests photographed twice: sd of the differences / √2.

    Parameters
    ----------
    first, second : (n,) float arrays [the measure's unit]
        In the order in which they were taken; pairs with NaN are left out and counted.
    fewest : Fewest, optional
        `subjects` counts the pairs.
    level : float
        Of the chi-square interval (n − 1 degrees of freedom) and of the shift's.
    """
    cases = take_complete(np.column_stack([first, second]), Fewest() if fewest is None else fewest)
    if isinstance(cases, Abstained):
        return Abstained("too-few-pairs", have=cases.have, need=cases.need)
    difference = cases.ratings[:, 1] - cases.ratings[:, 0]
    n = len(difference)
    variance = float(difference.var(ddof=1))
    shift = float(difference.mean())
    half = float(scipy.stats.t.ppf(0.5 + level / 2, n - 1)) * np.sqrt(variance / n)
    return PooledSd(
        sd=bound_sd(variance / 2.0, freedom=n - 1, level=level),
        shift=Bounded(shift, shift - half, shift + half),
        freedom=n - 1,
        pairs=n,
        left_out=cases.left_out,
    )


def shrink_sd(
    *,
    default_sd: float,
    default_freedom: float,
    own_sd: float,
    own_freedom: float,
    level: float = 0.95,
) -> ShrunkSd:
    """Return an sd between the default and the club's own, by what each is worth.

    Parameters
    ----------
    default_sd : float > 0 [the measure's unit]
    default_freedom : float > 2
        How many degrees of freedom of a study the default is trusted like, plus two: an
        assumption of the caller. Just above 2 the club's own counts almost alone.
    own_sd : float ≥ 0
        Of the club's own study.
    own_freedom : float ≥ 0
        Its degrees of freedom; 0 = no study, which gives the default back.
    level : float
        Of the posterior interval.

    Raises
    ------
    ValueError
        For freedoms or sds out of range.

    Notes
    -----
    The variance has an inverse-gamma prior with `default_freedom` degrees of freedom whose *mean*
    is default_sd². Its posterior mean is the weighted mean of both variances, with weights
    default_freedom − 2 and own_freedom. Normal readings are assumed.
    """
    if not (default_sd > 0.0 and default_freedom > 2.0 and own_sd >= 0.0 and own_freedom >= 0.0):
        raise ValueError("an sd or its degrees of freedom are out of range")
    weight = default_freedom - 2.0
    total = weight * default_sd**2 + (own_freedom * own_sd**2 if own_freedom > 0.0 else 0.0)
    low, high = (
        float(np.sqrt(total / scipy.stats.chi2.ppf(p, default_freedom + own_freedom)))
        for p in (0.5 + level / 2, 0.5 - level / 2)
    )
    worth = weight + own_freedom
    return ShrunkSd(
        sd=Bounded(float(np.sqrt(total / worth)), low, high), own_share=own_freedom / worth
    )
