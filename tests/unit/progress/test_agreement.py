"""Agreement between raters and between two ways of measuring: edges, abstentions, limits."""

import numpy as np
import pytest

from chordline.core.progress.abstained import Abstained
from chordline.core.progress.agreement_cases import Fewest
from chordline.core.progress.agreement_icc import Agreement, estimate_agreement
from chordline.core.progress.agreement_limits import (
    Limits,
    compare_pairs,
    limits_1986,
    repeatability_coefficient,
)

RNG = np.random.default_rng(7)
SUBJECTS = 10.0 * RNG.normal(size=12)
NOISY = SUBJECTS[:, None] + RNG.normal(size=(12, 3))


def test_nine_subjects_are_too_few_and_ten_are_not() -> None:
    assert estimate_agreement(NOISY[:9]) == Abstained("too-few-subjects", have=9, need=10)
    assert isinstance(estimate_agreement(NOISY[:10]), Agreement)


def test_one_rater_cannot_disagree() -> None:
    assert estimate_agreement(NOISY[:, :1]) == Abstained("too-few-raters", have=1, need=2)


def test_subjects_with_a_hole_are_left_out_and_counted() -> None:
    holed = NOISY.copy()
    holed[[2, 5], [0, 1]] = np.nan
    told = estimate_agreement(holed)
    assert isinstance(told, Agreement)
    whole = estimate_agreement(np.delete(NOISY, [2, 5], axis=0))
    assert isinstance(whole, Agreement)
    assert told.left_out == 2
    assert told.icc == whole.icc


def test_holes_may_leave_too_few() -> None:
    holed = NOISY.copy()
    holed[:3, 0] = np.nan
    assert estimate_agreement(holed) == Abstained("too-few-subjects", have=9, need=10)


def test_subjects_that_do_not_differ_have_no_agreement_to_speak_of() -> None:
    assert estimate_agreement(np.full((12, 3), 0.1)) == Abstained("no-spread")


def test_raters_who_agree_wholly_agree_wholly() -> None:
    told = estimate_agreement(np.repeat(np.arange(12.0)[:, None], 3, axis=1))
    assert isinstance(told, Agreement)
    for icc in told.icc.values():
        assert (icc.value, icc.low, icc.high) == pytest.approx((1.0, 1.0, 1.0))


def test_a_rater_who_always_reads_more_lowers_agreement_but_not_consistency() -> None:
    told = estimate_agreement(np.arange(12.0)[:, None] + np.array([[0.0, 0.0, 6.0]]))
    assert isinstance(told, Agreement)
    assert told.icc["ICC(3,1)"].value == pytest.approx(1.0)
    assert told.icc["ICC(2,1)"].value < 0.6
    assert told.icc["ICC(2,1)"].low < told.icc["ICC(2,1)"].value < told.icc["ICC(2,1)"].high


def test_raters_who_contradict_each_other_have_a_negative_correlation() -> None:
    up = np.arange(12.0)
    told = estimate_agreement(np.column_stack([up, 0.9 * up[::-1]]))
    assert isinstance(told, Agreement)
    assert told.icc["ICC(1,1)"].value < -0.8
    assert told.icc["ICC(2,k)"].low == -np.inf


def test_no_averaged_correlation_jumps_above_one_past_the_poles_of_the_printed_formula() -> None:
    """The formula as printed gives ICC(2,k) = 6 here."""
    told = estimate_agreement(
        np.array([[0.0, 0.0], [0.0, -1.0], [-1.0, 1.0]]), fewest=Fewest(subjects=3)
    )
    assert isinstance(told, Agreement)
    assert told.icc["ICC(2,k)"].value == -np.inf


def test_an_infinite_rating_is_refused() -> None:
    broken = NOISY.copy()
    broken[0, 0] = np.inf
    with pytest.raises(ValueError, match="infinite"):
        estimate_agreement(broken)


def test_ratings_that_are_no_table_are_refused() -> None:
    with pytest.raises(ValueError, match=r"\(subjects, raters\)"):
        estimate_agreement(SUBJECTS)


def test_differences_are_first_minus_second() -> None:
    told = compare_pairs(SUBJECTS + 3.0 + RNG.normal(size=12), SUBJECTS)
    assert isinstance(told, Limits)
    assert 1.5 < told.bias.value < 4.5
    assert told.lower.high < told.bias.value < told.upper.low


def test_a_difference_that_grows_with_the_angle_is_found() -> None:
    told = compare_pairs(1.3 * SUBJECTS + RNG.normal(size=12), SUBJECTS)
    assert isinstance(told, Limits)
    assert told.proportional is not None
    assert told.proportional.found
    # Difference 0.3 x over mean 1.15 x.
    assert told.proportional.slope.low < 0.3 / 1.15 < told.proportional.slope.high


def test_a_constant_difference_is_no_proportional_bias() -> None:
    told = compare_pairs(SUBJECTS + 0.1, SUBJECTS)
    assert isinstance(told, Limits)
    assert told.proportional is not None
    assert not told.proportional.found


def test_subjects_all_alike_cannot_show_proportional_bias() -> None:
    scatter = RNG.normal(size=12)
    told = compare_pairs(50.0 + scatter, 50.0 - scatter)
    assert isinstance(told, Limits)
    assert told.proportional is None


def test_too_few_pairs_are_told_as_pairs() -> None:
    few = SUBJECTS[:8]
    holed = np.append(few, [np.nan, np.nan, np.nan])
    expected = Abstained("too-few-pairs", have=8, need=10)
    assert compare_pairs(holed, np.zeros(11)) == expected
    assert limits_1986(holed, np.zeros(11)) == expected
    assert isinstance(compare_pairs(few, np.zeros(8), fewest=Fewest(subjects=8)), Limits)


@pytest.mark.slow
def test_exact_intervals_of_a_limit_hold_the_true_limit_as_often_as_they_say() -> None:
    """Ten pairs, 800 studies; the approximation of 1986 misses more often outwards."""
    rng = np.random.default_rng(11)
    true = 2.0 + 1.96 * 3.0
    inside, beyond, beyond_1986 = 0, 0, 0
    for _ in range(800):
        first = 2.0 + 3.0 * rng.normal(size=10)
        told, old = compare_pairs(first, np.zeros(10)), limits_1986(first, np.zeros(10))
        assert isinstance(told, Limits)
        assert isinstance(old, tuple)
        inside += told.upper.low <= true <= told.upper.high
        beyond += told.upper.high < true
        beyond_1986 += old[1].high < true + 0.04 * 3.0
    assert 0.93 < inside / 800 < 0.97
    assert 0.01 < beyond / 800 < 0.04
    assert beyond_1986 / 800 > 0.05


def test_the_repeatability_coefficient_counts_a_constant_shift_as_error() -> None:
    assert repeatability_coefficient(SUBJECTS + 2.0, SUBJECTS) == pytest.approx(1.96 * 2.0)
