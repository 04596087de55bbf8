"""SEM, smallest change, sd of repeat photos, and the way from the default to the club's own."""

import numpy as np
import pytest

from chordline.core.progress.abstained import Abstained
from chordline.core.progress.agreement_cases import Fewest
from chordline.core.progress.repeatability import (
    Repeatability,
    estimate_repeatability,
    smallest_change_95,
    standard_error_by_icc,
)
from chordline.core.progress.repeatability_pooled import PooledSd, pool_within_sd, shrink_sd

RNG = np.random.default_rng(3)


def study(subjects: int, raters: int, noise: float) -> np.ndarray:
    return 8.0 * RNG.normal(size=(subjects, 1)) + noise * RNG.normal(size=(subjects, raters))


def test_sem_and_smallest_change_of_the_textbook_example() -> None:
    sem = standard_error_by_icc(sd=8.0, icc=0.90)
    assert sem == pytest.approx(2.53, abs=0.005)
    assert smallest_change_95(sem) == pytest.approx(7.01, abs=0.005)


def test_both_forms_of_the_sem_find_the_noise_of_a_large_study() -> None:
    told = estimate_repeatability(study(4000, 3, 2.0))
    assert isinstance(told, Repeatability)
    assert told.sem.value == pytest.approx(2.0, rel=0.03)
    assert told.sem_by_icc == pytest.approx(2.0, rel=0.03)
    assert told.sem_any_rater == pytest.approx(2.0, rel=0.03)


def test_a_rater_with_an_offset_adds_to_the_error_only_where_any_rater_may_read() -> None:
    readings = study(400, 2, 2.0) + np.array([[0.0, 6.0]])
    told = estimate_repeatability(readings)
    assert isinstance(told, Repeatability)
    assert told.sem.value == pytest.approx(2.0, rel=0.1)
    # Variance of two raters 6 apart: 18.
    assert told.sem_any_rater == pytest.approx(np.sqrt(4.0 + 18.0), rel=0.1)
    assert told.mdc95_any_rater == pytest.approx(1.96 * np.sqrt(2.0) * told.sem_any_rater)


def test_the_sem_of_mean_squares_does_not_depend_on_how_much_gymnasts_differ() -> None:
    noise = 2.0 * RNG.normal(size=(40, 2))
    spread = RNG.normal(size=(40, 1))
    narrow, wide = (estimate_repeatability(noise + sd * spread) for sd in (1.0, 30.0))
    assert isinstance(narrow, Repeatability)
    assert isinstance(wide, Repeatability)
    assert narrow.sem.value == pytest.approx(wide.sem.value)
    one, other = (r.agreement.icc["ICC(3,1)"].value for r in (narrow, wide))
    assert one < 0.5 < other


def test_sem_by_icc_is_what_its_formula_says_of_the_complete_cases() -> None:
    readings = study(15, 3, 2.0)
    readings[4, 1] = np.nan
    told = estimate_repeatability(readings)
    assert isinstance(told, Repeatability)
    whole = np.delete(readings, 4, axis=0)
    icc = told.agreement.icc["ICC(3,1)"].value
    assert told.sem_by_icc == pytest.approx(whole.std(ddof=1) * np.sqrt(1.0 - icc))
    assert told.agreement.left_out == 1


def test_the_interval_of_the_sem_holds_the_truth_as_often_as_it_says() -> None:
    inside = 0
    for _ in range(600):
        told = estimate_repeatability(study(10, 2, 2.0))
        assert isinstance(told, Repeatability)
        inside += told.sem.low < 2.0 < told.sem.high
    assert 0.93 < inside / 600 < 0.97


def test_a_study_too_small_says_nothing() -> None:
    assert estimate_repeatability(study(6, 2, 2.0)) == Abstained("too-few-subjects", 6, 10)


def test_repeat_photos_give_the_noise_of_one_and_keep_a_steady_shift_apart() -> None:
    posture = 10.0 * RNG.normal(size=2000)
    first = posture + 3.0 * RNG.normal(size=2000)
    second = posture + 4.0 + 3.0 * RNG.normal(size=2000)
    told = pool_within_sd(first, second)
    assert isinstance(told, PooledSd)
    assert told.sd.value == pytest.approx(3.0, rel=0.05)
    assert told.sd.low < 3.0 < told.sd.high
    assert told.shift.low < 4.0 < told.shift.high
    assert told.freedom == 1999


def test_pairs_with_a_hole_are_left_out_and_too_few_say_nothing() -> None:
    first, second = RNG.normal(size=12), RNG.normal(size=12)
    first[:3] = np.nan
    assert pool_within_sd(first, second) == Abstained("too-few-pairs", have=9, need=10)
    told = pool_within_sd(first, second, fewest=Fewest(subjects=9))
    assert isinstance(told, PooledSd)
    assert (told.pairs, told.left_out) == (9, 3)


def test_without_a_study_the_default_stands() -> None:
    told = shrink_sd(default_sd=3.0, default_freedom=12.0, own_sd=0.0, own_freedom=0.0)
    assert told.sd.value == pytest.approx(3.0)
    assert told.own_share == 0.0
    assert told.sd.low < 3.0 < told.sd.high


def test_the_clubs_own_study_takes_over_step_by_step() -> None:
    sds, shares = [], []
    for freedom in (0.0, 5.0, 20.0, 100.0, 1e6):
        told = shrink_sd(default_sd=3.0, default_freedom=12.0, own_sd=1.5, own_freedom=freedom)
        sds.append(told.sd.value)
        shares.append(told.own_share)
    assert sds == sorted(sds, reverse=True)
    assert sds[-1] == pytest.approx(1.5, abs=1e-4)
    assert shares == sorted(shares)
    # Ten of weight against ten: half way in variance.
    half = shrink_sd(default_sd=3.0, default_freedom=12.0, own_sd=1.0, own_freedom=10.0)
    assert half.sd.value == pytest.approx(np.sqrt(5.0))


def test_clubs_from_the_prior_are_recovered_better_than_by_default_or_study_alone() -> None:
    """3000 clubs whose true variance comes from the prior, each with a study of eight pairs."""
    default, freedom, own = 3.0, 10.0, 8
    true = default**2 * (freedom - 2.0) / RNG.chisquare(freedom, size=3000)
    studied = true * RNG.chisquare(own, size=3000) / own
    told = [
        shrink_sd(default_sd=default, default_freedom=freedom, own_sd=float(s), own_freedom=own)
        for s in np.sqrt(studied)
    ]
    shrunk = np.array([one.sd.value for one in told]) ** 2
    inside = np.mean(
        [one.sd.low < s < one.sd.high for one, s in zip(told, np.sqrt(true), strict=True)]
    )
    assert 0.935 < inside < 0.965
    assert abs(np.mean(shrunk - true)) < 0.35
    missed = [np.mean((guess - true) ** 2) for guess in (shrunk, studied, default**2)]
    assert missed[0] < 0.85 * min(missed[1:])


@pytest.mark.parametrize(
    "wrong",
    [{"default_freedom": 2.0}, {"default_sd": 0.0}, {"own_sd": -1.0}, {"own_freedom": -1.0}],
)
def test_impossible_sds_and_freedoms_are_refused(wrong: dict[str, float]) -> None:
    right = {"default_sd": 3.0, "default_freedom": 12.0, "own_sd": 2.0, "own_freedom": 5.0}
    with pytest.raises(ValueError, match="out of range"):
        shrink_sd(**{**right, **wrong})
