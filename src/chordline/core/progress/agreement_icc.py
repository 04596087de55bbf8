"""Intraclass correlations: the six forms of Shrout & Fleiss, with their intervals."""

from dataclasses import dataclass
from typing import Literal, get_args

import numpy as np
import scipy  # its parts are loaded when they are used

from chordline.core.geometry.angles import Floats
from chordline.core.progress.abstained import Abstained
from chordline.core.progress.agreement_cases import Fewest, take_complete

IccForm = Literal["ICC(1,1)", "ICC(2,1)", "ICC(3,1)", "ICC(1,k)", "ICC(2,k)", "ICC(3,k)"]
ICC_FORMS: tuple[IccForm, ...] = get_args(IccForm)
#: Spread of the subjects' means, relative to the largest rating, that is rounding only.
_ROUNDING = 1e-12


@dataclass(frozen=True)
class MeanSquares:
    """The analysis of variance of a complete table, in the paper's letters.

    Attributes
    ----------
    bms, wms, jms, ems : float [unit²]
        Between subjects; within subjects; between raters ('judges'); residual ('error').
    subjects, raters : int
    """

    bms: float
    wms: float
    jms: float
    ems: float
    subjects: int
    raters: int


@dataclass(frozen=True)
class Icc:
    """One intraclass correlation with its confidence interval.

    Attributes
    ----------
    value, low, high : float
        At most 1. Negative when raters differ more about one subject than subjects differ; an
        averaged form has no lower bound (−inf).
    """

    form: IccForm
    value: float
    low: float
    high: float


@dataclass(frozen=True)
class Agreement:
    """How well raters (photos, days) agree.

    Attributes
    ----------
    mean_squares : MeanSquares
    icc : mapping of form to Icc
    left_out : int
        Subjects with a missing rating.
    """

    mean_squares: MeanSquares
    icc: dict[IccForm, Icc]
    left_out: int


def split_variance(ratings: Floats) -> MeanSquares:
    """Return the mean squares of a complete table, (n ≥ 2, k ≥ 2)."""
    n, k = ratings.shape
    # Shifted first: large equal parts would eat the digits of small differences.
    centred = ratings - ratings.mean()
    subject, rater = centred.mean(axis=1, keepdims=True), centred.mean(axis=0, keepdims=True)
    between = k * float((subject**2).sum())
    judges = n * float((rater**2).sum())
    within = float(((centred - subject) ** 2).sum())
    residual = float(((centred - subject - rater) ** 2).sum())
    return MeanSquares(
        bms=between / (n - 1),
        wms=within / (n * (k - 1)),
        jms=judges / (k - 1),
        ems=residual / ((n - 1) * (k - 1)),
        subjects=n,
        raters=k,
    )


def estimate_agreement(
    ratings: Floats, *, fewest: Fewest | None = None, level: float = 0.95
) -> Agreement | Abstained:
    """Return the six intraclass correlations with confidence intervals.

    Parameters
    ----------
    ratings : (n, k) float array
        A row a subject, a column a rater; rows with NaN are left out and counted.
    fewest : Fewest, optional
    level : float
        Of the two-sided intervals.

    Returns
    -------
    Agreement or Abstained
        Too few subjects or raters, or subjects that do not differ.

    Notes
    -----
    ICC(1,·): every subject has raters of its own. ICC(2,·): the same raters for all, drawn from
    many; a rater who reads 3° more counts as error. ICC(3,·): these raters only; it does not.
    ·,1 is one rating, ·,k the mean of k. Elsewhere (2,·) is called (A,·) and (3,·) is (C,·).
    Intervals assume normal effects; those of ICC(2,·) are approximate (Satterthwaite).
    The printed ICC(2,k) passes through a pole and exceeds 1 where raters contradict each other;
    here it is −inf from there on.

    References
    ----------
    shrout-fleiss-1979, pp. 421-425; mcgraw-wong-1996, tables 4 and 7.

    Examples
    --------
    >>> import numpy as np
    >>> table = np.array([[9, 2, 5, 8], [6, 1, 3, 2], [8, 4, 6, 8],
    ...                   [7, 1, 2, 6], [10, 5, 6, 9], [6, 2, 4, 7]], dtype=float)
    >>> round(estimate_agreement(table, fewest=Fewest(subjects=6)).icc["ICC(2,1)"].value, 2)
    0.29
    """
    cases = take_complete(ratings, Fewest() if fewest is None else fewest)
    if isinstance(cases, Abstained):
        return cases
    means = cases.ratings.mean(axis=1)
    if np.ptp(means) <= _ROUNDING * np.abs(cases.ratings).max():
        return Abstained("no-spread")
    squares = split_variance(cases.ratings)
    return Agreement(squares, _all_forms(squares, level), cases.left_out)


def _all_forms(squares: MeanSquares, level: float) -> dict[IccForm, Icc]:
    n, k = squares.subjects, squares.raters
    bms, wms, jms, ems = squares.bms, squares.wms, squares.jms, squares.ems
    one_way = _one_error(bms, wms, (n - 1, n * (k - 1)), k, level)
    consistent = _one_error(bms, ems, (n - 1, (n - 1) * (k - 1)), k, level)
    value = (bms - ems) / (bms + (k - 1) * ems + k * (jms - ems) / n)
    low, high = _two_way_limits(squares, value, level)
    singles = (one_way, (value, low, high), consistent)
    averages = tuple(tuple(_average(one, k) for one in single) for single in singles)
    return {
        form: Icc(form, *figures)
        for form, figures in zip(ICC_FORMS, (*singles, *averages), strict=True)
    }


def _one_error(
    bms: float, error: float, freedom: tuple[int, int], k: int, level: float
) -> tuple[float, float, float]:
    """Return value and limits of a single rating where one mean square holds all error."""
    upper = float(scipy.stats.f.ppf(0.5 + level / 2, *freedom))
    lower = float(scipy.stats.f.ppf(0.5 - level / 2, *freedom))

    def correlate(by: float) -> float:
        # Multiplied out, so that raters who agree wholly (error 0) have limits as well.
        return (bms - by * error) / (bms + (k - 1) * by * error)

    return correlate(1.0), correlate(upper), correlate(lower)


def _two_way_limits(squares: MeanSquares, value: float, level: float) -> tuple[float, float]:
    n, k = squares.subjects, squares.raters
    bms, jms, ems = squares.bms, squares.jms, squares.ems
    scale = max(jms, ems)
    if scale == 0.0:
        return value, value
    # v: Satterthwaite's degrees of freedom of the error that jms and ems make together.
    from_judges = k * value * jms / scale
    from_error = (n * (1 + (k - 1) * value) - k * value) * ems / scale
    v = (from_judges + from_error) ** 2 / (
        from_judges**2 / (k - 1) + from_error**2 / ((n - 1) * (k - 1))
    )
    upper = float(scipy.stats.f.ppf(0.5 + level / 2, n - 1, v))
    lower = float(scipy.stats.f.ppf(0.5 + level / 2, v, n - 1))
    rest = k * jms + (k * n - k - n) * ems
    # Divided through by `upper`, which is infinite where v is next to nothing. There (raters who
    # contradict each other) the approximation fails; the interval then at least holds the value.
    low = n * (bms / upper - ems) / (rest + n * bms / upper)
    high = n * (lower * bms - ems) / (rest + n * lower * bms)
    return min(low, value), max(high, value)


def _average(single: float, k: int) -> float:
    """Return what the mean of k ratings has (Spearman and Brown); −inf past the formula's pole."""
    below = 1 + (k - 1) * single
    return k * single / below if below > 0.0 else -np.inf
