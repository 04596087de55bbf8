"""How much a measure may change without meaning anything: SEM and smallest detectable change."""

from dataclasses import dataclass

import numpy as np
import scipy  # its parts are loaded when they are used

from chordline.core.geometry.angles import Floats
from chordline.core.progress.abstained import Abstained
from chordline.core.progress.agreement_cases import Fewest
from chordline.core.progress.agreement_icc import Agreement, MeanSquares, estimate_agreement
from chordline.core.progress.agreement_limits import SDS_95, Bounded


@dataclass(frozen=True)
class Repeatability:
    """Repeatability of one measure, in the measure's unit.

    Attributes
    ----------
    agreement : Agreement
        Mean squares and the six ICC forms.
    sem : Bounded
        √EMS: scatter of one reading about the subject's true value, raters' constant offsets
        apart. The figure to use: it does not depend on how much the subjects differ.
    sem_any_rater : float
        As `sem`, with the offset of whoever happens to read counted as error.
    sem_by_icc : float
        SD · √(1 − ICC(3,1)): for comparing with publications. SD over all readings.
    mdc95 : Bounded
        1.96 · √2 · `sem`: the change that two readings by one rater pass once in 20 by chance.
    mdc95_any_rater : float
        The same where the two readings may be by different raters.
    """

    agreement: Agreement
    sem: Bounded
    sem_any_rater: float
    sem_by_icc: float
    mdc95: Bounded
    mdc95_any_rater: float


def standard_error_by_icc(*, sd: float, icc: float) -> float:
    """Return SEM = SD · √(1 − ICC), in the unit of `sd`.

    Examples
    --------
    >>> round(standard_error_by_icc(sd=8.0, icc=0.90), 2)
    2.53
    """
    return sd * float(np.sqrt(1.0 - icc))


def smallest_change_95(sem: float) -> float:
    """Return MDC95 = 1.96 · √2 · SEM, in the unit of `sem`.

    Examples
    --------
    >>> round(smallest_change_95(standard_error_by_icc(sd=8.0, icc=0.90)), 2)
    7.01
    """
    return SDS_95 * float(np.sqrt(2.0)) * sem


def estimate_repeatability(
    ratings: Floats, *, fewest: Fewest | None = None, level: float = 0.95
) -> Repeatability | Abstained:
    """Return what a study of repeated readings says of one measure.

    Parameters
    ----------
    ratings : (n, k) float array [the measure's unit]
        A row a subject, a column a rater (photo, day); rows with NaN are left out and counted.
    fewest : Fewest, optional
    level : float
        Of the intervals.

    Notes
    -----
    Interval of √EMS by chi-square with (n − 1)(k − 1) degrees of freedom. `sem_any_rater` =
    √(EMS + max(0, JMS − EMS)/n). The two forms of the SEM agree only in large studies without
    offsets between raters: SD·√(1 − ICC) takes the SD over all readings, offsets included.
    """
    agreement = estimate_agreement(ratings, fewest=fewest, level=level)
    if isinstance(agreement, Abstained):
        return agreement
    squares = agreement.mean_squares
    sem = bound_sd(squares.ems, freedom=(squares.subjects - 1) * (squares.raters - 1), level=level)
    offset = max(0.0, squares.jms - squares.ems) / squares.subjects
    any_rater = float(np.sqrt(squares.ems + offset))
    sd = float(np.sqrt(_total_variance(squares)))
    return Repeatability(
        agreement=agreement,
        sem=sem,
        sem_any_rater=any_rater,
        sem_by_icc=standard_error_by_icc(sd=sd, icc=agreement.icc["ICC(3,1)"].value),
        mdc95=Bounded(*(smallest_change_95(one) for one in (sem.value, sem.low, sem.high))),
        mdc95_any_rater=smallest_change_95(any_rater),
    )


def bound_sd(variance: float, *, freedom: float, level: float = 0.95) -> Bounded:
    """Return an sd from its estimated variance, with its chi-square interval.

    Parameters
    ----------
    variance : float [unit²]
    freedom : float
        Degrees of freedom that the variance rests on.
    """
    low, high = (
        float(np.sqrt(variance * freedom / scipy.stats.chi2.ppf(p, freedom)))
        for p in (0.5 + level / 2, 0.5 - level / 2)
    )
    return Bounded(float(np.sqrt(variance)), low, high)


def _total_variance(squares: MeanSquares) -> float:
    """Return the variance of all readings about their one mean [unit²]."""
    n, k = squares.subjects, squares.raters
    return ((n - 1) * squares.bms + n * (k - 1) * squares.wms) / (n * k - 1)
