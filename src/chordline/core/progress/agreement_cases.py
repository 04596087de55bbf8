"""Which subjects of a study can be used: those with every rating."""

from dataclasses import dataclass

import numpy as np

from chordline.core.geometry.angles import Floats
from chordline.core.progress.abstained import Abstained


@dataclass(frozen=True)
class Fewest:
    """How small a study may be before nothing is said of it.

    Attributes
    ----------
    subjects : int
        Assumption: with ten, two raters with an ICC of .9 are known only to be above about .67;
        with fewer the study tells a coach nothing. (Thirty is what textbooks advise.)
    raters : int
        One rater cannot disagree.
    """

    subjects: int = 10
    raters: int = 2


@dataclass(frozen=True)
class Cases:
    """The complete cases of a study.

    Attributes
    ----------
    ratings : (n, k) float array
        Without NaN.
    left_out : int
        Subjects with a missing rating.
    """

    ratings: Floats
    left_out: int


def take_complete(ratings: Floats, fewest: Fewest) -> Cases | Abstained:
    """Return the subjects with all ratings, or why they do not suffice.

    Parameters
    ----------
    ratings : (n, k) float array
        A row a subject, a column a rater (or photo, or day); NaN where missing.
    fewest : Fewest

    Raises
    ------
    ValueError
        For an array that is no table, or an infinite rating.
    """
    table = np.asarray(ratings, dtype=np.float64)
    if table.ndim != 2:
        raise ValueError(f"ratings must be (subjects, raters), not {table.shape}")
    if np.isinf(table).any():
        raise ValueError("a rating is infinite")
    if table.shape[1] < max(fewest.raters, 2):
        return Abstained("too-few-raters", have=table.shape[1], need=max(fewest.raters, 2))
    whole = ~np.isnan(table).any(axis=1)
    kept = table[whole]
    if len(kept) < max(fewest.subjects, 2):
        return Abstained("too-few-subjects", have=len(kept), need=max(fewest.subjects, 2))
    return Cases(kept, left_out=int((~whole).sum()))
