"""What holds of every study and every child."""

import numpy as np
from hypothesis import assume, given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from chordline.catalogue.growth import our_growth
from chordline.core.geometry.angles import Floats
from chordline.core.progress.agreement_cases import Fewest
from chordline.core.progress.agreement_icc import Agreement, estimate_agreement, split_variance
from chordline.core.progress.agreement_limits import Limits, compare_pairs
from chordline.core.progress.growth_lms import compute_scores, size_at_score
from chordline.core.progress.growth_velocity import (
    GrowthRules,
    GrowthVelocity,
    measure_velocity,
)
from chordline.core.progress.repeatability_pooled import shrink_sd
from chordline.core.progress.repeatability_sources import Component, Sources, split_sources

GROWTH = our_growth()
angles = st.floats(-90.0, 90.0).map(lambda x: round(x, 2))
studies = st.tuples(st.integers(3, 15), st.integers(2, 5)).flatmap(
    lambda shape: arrays(np.float64, shape, elements=angles)
)
designs = st.tuples(
    st.integers(3, 6), st.integers(1, 3), st.integers(1, 3), st.integers(1, 3)
).flatmap(lambda shape: arrays(np.float64, shape, elements=angles))
measures = st.sampled_from(sorted(GROWTH.tables))
sexes = st.sampled_from(["girl", "boy"])
months = st.floats(60.0, 120.9)
factors = st.floats(0.1, 20.0)
shifts = st.floats(-100.0, 100.0)


def agree(ratings: Floats) -> Agreement:
    told = estimate_agreement(ratings, fewest=Fewest(subjects=3))
    # Almost no spread or error: what is left is rounding.
    assume(isinstance(told, Agreement))
    assert isinstance(told, Agreement)
    assume(min(told.mean_squares.bms, told.mean_squares.ems) > 1e-3)
    return told


@given(studies)
def test_the_mean_squares_hold_all_of_the_variance(ratings: Floats) -> None:
    squares, (n, k) = split_variance(ratings), ratings.shape
    total = ((ratings - ratings.mean()) ** 2).sum()
    one_way = (n - 1) * squares.bms + n * (k - 1) * squares.wms
    two_way = (n - 1) * squares.bms + (k - 1) * squares.jms + (n - 1) * (k - 1) * squares.ems
    assert np.allclose([one_way, two_way], total)


@given(studies, factors, shifts)
def test_agreement_does_not_depend_on_unit_or_zero(
    ratings: Floats, factor: float, shift: float
) -> None:
    one, other = agree(ratings), agree(factor * ratings + shift)
    for form, icc in one.icc.items():
        theirs = other.icc[form]
        assert np.allclose(
            (icc.value, icc.low, icc.high), (theirs.value, theirs.low, theirs.high), atol=1e-6
        )


@given(studies)
def test_a_correlation_lies_in_its_interval_and_no_higher_than_one(ratings: Floats) -> None:
    for icc in agree(ratings).icc.values():
        assert icc.low <= icc.value <= icc.high <= 1.0


@given(studies, st.randoms(use_true_random=False))
def test_nobodys_place_in_the_table_matters(ratings: Floats, shuffle: object) -> None:
    other = agree(ratings[::-1, ::-1])
    for form, icc in agree(ratings).icc.items():
        assert np.isclose(icc.value, other.icc[form].value)


@given(arrays(np.float64, (10, 2), elements=angles))
def test_swapping_the_methods_mirrors_the_limits(pairs: Floats) -> None:
    one = compare_pairs(pairs[:, 0], pairs[:, 1])
    other = compare_pairs(pairs[:, 1], pairs[:, 0])
    assert isinstance(one, Limits)
    assert isinstance(other, Limits)
    assert np.isclose(one.bias.value, -other.bias.value)
    assert np.allclose(
        (one.lower.low, one.lower.value, one.lower.high),
        (-other.upper.high, -other.upper.value, -other.upper.low),
    )


@given(designs, factors)
def test_components_are_never_negative_and_go_with_the_square_of_the_unit(
    marks: Floats, factor: float
) -> None:
    one, other = (split_sources(f * marks, fewest_subjects=3) for f in (1.0, factor))
    assert isinstance(one, Sources)
    assert isinstance(other, Sources)
    for name in ("coach_offset", "coach_by_photo", "within_coach", "retake"):
        mine, theirs = getattr(one, name), getattr(other, name)
        if isinstance(mine, Component):
            assert 0.0 <= mine.low <= mine.variance + 1e-6
            assert mine.variance <= mine.high + 1e-6
            assert np.isclose(factor**2 * mine.variance, theirs.variance, atol=1e-6)


@given(st.floats(0.1, 20.0), st.floats(2.01, 200.0), st.floats(0.0, 20.0), st.floats(0.0, 200.0))
def test_a_shrunk_sd_lies_between_the_default_and_the_clubs_own(
    default: float, trust: float, own: float, freedom: float
) -> None:
    told = shrink_sd(default_sd=default, default_freedom=trust, own_sd=own, own_freedom=freedom)
    assert min(default, own) - 1e-9 <= told.sd.value <= max(default, own) + 1e-9
    assert 0.0 <= told.own_share <= 1.0


@given(measures, sexes, months, st.floats(-3.0, 3.0))
def test_a_size_has_the_score_that_it_was_drawn_for(
    measure: str, sex: str, age: float, z: float
) -> None:
    table = GROWTH.table(measure, sex)
    assert table is not None
    size = size_at_score(table, age_months=age, z=z)
    assert np.isclose(compute_scores(table, np.array(age), np.array(size)), z, atol=1e-9)


@given(measures, sexes, months)
def test_a_larger_child_has_a_larger_score_beyond_three_sd_as_well(
    measure: str, sex: str, age: float
) -> None:
    table = GROWTH.table(measure, sex)
    assert table is not None
    low, high = (size_at_score(table, age_months=age, z=z) for z in (-3.0, 3.0))
    sizes = np.linspace(0.8 * low, 1.3 * high, 200)
    scores = compute_scores(table, np.full(200, age), sizes)
    assert (np.diff(scores) > 0.0).all()
    assert np.abs(np.diff(scores)).max() < 0.3  # no jump where the rule changes


@given(st.floats(6.0, 17.0), st.floats(100.0, 170.0), st.floats(0.0, 12.0), st.integers(2, 6))
def test_steady_growth_is_found_whenever_it_was_measured(
    age: float, stature: float, speed: float, count: int
) -> None:
    ages = age + np.linspace(0.0, 1.0, count) ** 1.5
    rules = GrowthRules(stature_sd_cm=0.5, least_years=0.5, most_years=1.5, shrunk_sds=1.96)
    told = measure_velocity(ages, stature + speed * (ages - age), rules)
    assert isinstance(told, GrowthVelocity)
    assert np.isclose(told.velocity.value, speed, atol=1e-6)
    assert told.velocity.sd > 0.0
