"""Intraclass correlations against pingouin's `intraclass_corr`, mean squares against statsmodels.

pingouin rounds its intervals to two digits; its ICC it gives in full. Its (A,·) and (C,·) are
(2,·) and (3,·) here. Components of variance: the same mean squares from statsmodels' regression.
"""

import numpy as np
import pandas as pd
import pingouin
import pytest
import statsmodels.api as sm
from statsmodels.formula.api import ols

from chordline.core.geometry.angles import Floats
from chordline.core.progress.agreement_cases import Fewest
from chordline.core.progress.agreement_icc import ICC_FORMS, Agreement, estimate_agreement
from chordline.core.progress.repeatability_sources import Component, Sources, split_sources

#: pingouin's own use of pandas, not ours.
pytestmark = pytest.mark.filterwarnings("ignore:The inplace keyword:DeprecationWarning")

THEIRS = ("ICC(1,1)", "ICC(A,1)", "ICC(C,1)", "ICC(1,k)", "ICC(A,k)", "ICC(C,k)")


def draw(seed: int) -> Floats:
    """Ratings with more or less spread between subjects and between raters."""
    rng = np.random.default_rng(seed)
    n, k = int(rng.integers(5, 30)), int(rng.integers(2, 6))
    subjects = rng.uniform(0.8, 8.0) * rng.normal(size=(n, 1))
    raters = rng.uniform(0.0, 4.0) * rng.normal(size=(1, k))
    return rng.uniform(-90.0, 180.0) + subjects + raters + 2.0 * rng.normal(size=(n, k))


def long(ratings: Floats) -> pd.DataFrame:
    n, k = ratings.shape
    return pd.DataFrame(
        {
            "subject": np.repeat(np.arange(n), k),
            "rater": np.tile(np.arange(k), n),
            "value": ratings.ravel(),
        }
    )


def ours(ratings: Floats) -> Agreement:
    told = estimate_agreement(ratings, fewest=Fewest(subjects=2))
    assert isinstance(told, Agreement)
    return told


def theirs(ratings: Floats, policy: str = "raise") -> pd.DataFrame:
    return pingouin.intraclass_corr(
        data=long(ratings),
        targets="subject",
        raters="rater",
        ratings="value",
        nan_policy=policy,
    ).set_index("Type")


@pytest.mark.parametrize("seed", range(30))
def test_all_forms_and_intervals_are_pingouins(seed: int) -> None:
    ratings = draw(seed)
    table = theirs(ratings)
    for form, name in zip(ICC_FORMS, THEIRS, strict=True):
        mine = ours(ratings).icc[form]
        assert mine.value == pytest.approx(table.loc[name, "ICC"], abs=1e-9), form
        low, high = table.loc[name, "CI95"]
        assert (mine.low, mine.high) == pytest.approx((low, high), abs=0.005 + 1e-9), form


def test_subjects_with_a_missing_rating_are_left_out_as_pingouin_does() -> None:
    ratings = draw(3)
    ratings[1, 0] = ratings[4, 1] = np.nan
    table = theirs(ratings, policy="omit")
    told = ours(ratings)
    assert told.left_out == 2
    for form, name in zip(ICC_FORMS, THEIRS, strict=True):
        assert told.icc[form].value == pytest.approx(table.loc[name, "ICC"], abs=1e-9)


@pytest.mark.parametrize("seed", [1, 2])
def test_components_of_variance_follow_from_the_anova_of_statsmodels(seed: int) -> None:
    n, photos, coaches, markings = 10, 2, 3, 2
    rng = np.random.default_rng(seed)
    marks = (
        8.0 * rng.normal(size=(n, 1, 1, 1))
        + 3.0 * rng.normal(size=(n, photos, 1, 1))
        + 2.0 * rng.normal(size=(1, 1, coaches, 1))
        + 1.5 * rng.normal(size=(n, photos, coaches, 1))
        + rng.normal(size=(n, photos, coaches, markings))
    )
    axes = np.meshgrid(*(np.arange(m) for m in marks.shape), indexing="ij")
    frame = pd.DataFrame(
        {name: axis.ravel() for name, axis in zip("spcm", axes, strict=True)} | {"y": marks.ravel()}
    )
    fitted = ols("y ~ C(s) + C(s):C(p) + C(c) + C(s):C(c) + C(s):C(p):C(c)", frame).fit()
    anova = sm.stats.anova_lm(fitted, typ=1)
    # Order of the nested term's levels leaves empty columns; sums of squares are by term anyway.
    square = anova["sum_sq"] / anova["df"]
    told = split_sources(marks)
    assert isinstance(told, Sources)
    nested = square["C(s):C(p):C(c)"]
    pooled = (anova["sum_sq"]["C(s):C(c)"] + anova["sum_sq"]["C(s):C(p):C(c)"]) / (
        anova["df"]["C(s):C(c)"] + anova["df"]["C(s):C(p):C(c)"]
    )
    expected = {
        "within_coach": square["Residual"],
        "coach_by_photo": (pooled - square["Residual"]) / markings,
        "coach_offset": (square["C(c)"] - square["C(s):C(c)"]) / (n * photos * markings),
        "retake": (square["C(s):C(p)"] - nested) / (coaches * markings),
    }
    for name, variance in expected.items():
        component = getattr(told, name)
        assert isinstance(component, Component)
        assert component.variance == pytest.approx(max(0.0, variance), rel=1e-6, abs=1e-9), name
