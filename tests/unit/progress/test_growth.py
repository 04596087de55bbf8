"""Growth: where figures are told, where they are not and why."""

from datetime import date

import numpy as np
import pytest

from chordline.catalogue.growth import our_growth
from chordline.core.estimate import Estimate
from chordline.core.progress.abstained import Abstained
from chordline.core.progress.growth_age import measure_age
from chordline.core.progress.growth_lms import GrowthScore, score_size, size_at_score
from chordline.core.progress.growth_maturity import (
    Maturity,
    MaturityOffset,
    Size,
    judge_maturity,
    predict_offset,
)
from chordline.core.progress.growth_velocity import (
    GrowthRules,
    GrowthVelocity,
    Shrunk,
    chance_of_fast_growth,
    find_shrunk,
    measure_velocity,
)

GROWTH = our_growth()
GIRLS = GROWTH.table("height_for_age", "girl")
RULES = GrowthRules(stature_sd_cm=0.5, least_years=0.5, most_years=1.5, shrunk_sds=1.96)
EQUATIONS = GROWTH.equations()


def velocity(ages: list[float], statures: list[float]) -> GrowthVelocity:
    told = measure_velocity(np.array(ages), np.array(statures), RULES)
    assert isinstance(told, GrowthVelocity)
    return told


def test_a_birth_after_the_day_is_no_age() -> None:
    day = date(2025, 3, 1).toordinal()
    assert measure_age(born=day + 2, day=day) == Abstained("born-after-the-day", -2.0, 0.0)
    assert measure_age(born=day, day=day) == 0.0


def test_without_her_sex_there_is_no_score() -> None:
    assert GROWTH.table("height_for_age", None) is None
    told = score_size(GROWTH.table("height_for_age", None), age_months=120.0, size=138.0)
    assert told == Abstained("sex-not-said")


@pytest.mark.parametrize(
    ("age_months", "size", "told"),
    [
        (59.9, 110.0, Abstained("age-below-table", 59.9, 60.0)),
        (229.0, 160.0, Abstained("age-above-table", 229.0, 229.0)),
        (120.0, float("nan"), Abstained("not-measured")),
        (float("nan"), 138.0, Abstained("not-measured")),
        (120.0, 0.0, Abstained("impossible-size", 0.0, 0.0)),
    ],
)
def test_a_score_that_cannot_be_told_says_why(
    age_months: float, size: float, told: Abstained
) -> None:
    assert score_size(GIRLS, age_months=age_months, size=size) == told


@pytest.mark.parametrize("age_months", [60.0, 228.9])
def test_the_ends_of_the_table_are_told(age_months: float) -> None:
    assert isinstance(score_size(GIRLS, age_months=age_months, size=140.0), GrowthScore)


def test_weight_for_age_ends_at_ten() -> None:
    table = GROWTH.table("weight_for_age", "girl")
    assert isinstance(score_size(table, age_months=120.9, size=32.0), GrowthScore)
    assert score_size(table, age_months=121.0, size=32.0) == Abstained(
        "age-above-table", 121.0, 121.0
    )


def test_a_stature_typed_in_inches_is_called_implausible() -> None:
    told = score_size(GIRLS, age_months=120.0, size=54.0)
    assert isinstance(told, GrowthScore)
    assert told.implausible


def test_bands_are_not_drawn_where_the_table_says_nothing() -> None:
    assert GIRLS is not None
    assert size_at_score(GIRLS, age_months=120.0, z=0.0) == pytest.approx(138.6363)
    assert np.isnan(size_at_score(GIRLS, age_months=59.0, z=0.0))
    assert np.isnan(size_at_score(GIRLS, age_months=120.0, z=3.5))


def test_two_statures_a_year_apart_give_their_difference() -> None:
    told = velocity([10.0, 11.0], [136.0, 142.0])
    assert told.velocity.value == pytest.approx(6.0)
    assert told.velocity.sd == pytest.approx(0.5 * np.sqrt(2.0))
    assert (told.from_years, told.to_years, told.used) == (10.0, 11.0, 2)


def test_only_the_shortest_long_enough_run_before_the_latest_stature_counts() -> None:
    """Slow for years, fast for the last half year."""
    told = velocity([8.0, 9.0, 10.0, 10.25, 10.5], [128.0, 132.0, 136.0, 138.0, 140.0])
    assert told.from_years == 10.0
    assert told.used == 3
    assert told.velocity.value == pytest.approx(8.0)


def test_statures_in_any_order_and_with_holes() -> None:
    told = velocity([11.0, 10.0, 10.6], [142.0, 136.0, float("nan")])
    assert told.velocity.value == pytest.approx(6.0)
    assert (told.used, told.left_out) == (2, 1)


def test_six_calendar_months_are_long_enough() -> None:
    born = date(2014, 5, 5).toordinal()
    ages = [
        measure_age(born=born, day=day.toordinal())
        for day in (date(2025, 1, 10), date(2025, 7, 12))
    ]
    assert velocity([a for a in ages if isinstance(a, float)], [140.0, 143.0]).used == 2


@pytest.mark.parametrize(
    ("ages", "statures", "told"),
    [
        ([], [], Abstained("one-measurement", 0, 2)),
        ([10.0], [136.0], Abstained("one-measurement", 1, 2)),
        ([10.0, 10.25], [136.0, 138.0], Abstained("too-close-together", 0.25, 0.5)),
        ([8.0, 10.0], [126.0, 136.0], Abstained("too-far-apart", 2.0, 1.5)),
        ([10.0, 11.0], [142.0, 136.0], Abstained("stature-shrank", 6.0)),
        ([10.0, 11.0], [0.0, 136.0], Abstained("impossible-size", 0.0, 0.0)),
    ],
)
def test_a_velocity_that_cannot_be_told_says_why(
    ages: list[float], statures: list[float], told: Abstained
) -> None:
    assert measure_velocity(np.array(ages), np.array(statures), RULES) == told


def test_a_loss_within_measuring_error_is_no_contradiction() -> None:
    assert velocity([16.0, 17.0], [160.0, 159.0]).velocity.value == pytest.approx(-1.0)
    assert find_shrunk(np.array([16.0, 17.0]), np.array([160.0, 158.5]), RULES) is not None


def test_an_old_slip_outside_the_run_does_not_silence_todays_velocity() -> None:
    ages, statures = [8.0, 9.0, 10.0, 11.0], [148.0, 132.0, 138.0, 144.0]
    assert velocity(ages, statures).velocity.value == pytest.approx(6.0)
    told = find_shrunk(np.array(ages), np.array(statures), RULES)
    assert told == Shrunk(8.0, 9.0, 16.0)


def test_two_statures_of_one_day_contradict_each_other_in_either_order() -> None:
    for statures in ([140.0, 145.0], [145.0, 140.0]):
        told = find_shrunk(np.array([10.0, 10.0]), np.array(statures), RULES)
        assert told == Shrunk(10.0, 10.0, 5.0)


def test_the_velocitys_error_is_what_measuring_again_would_change() -> None:
    rng = np.random.default_rng(4)
    ages = np.array([10.0, 10.1, 10.3, 10.5])
    told = [
        measure_velocity(ages, 140.0 + 7.0 * (ages - 10.0) + 0.5 * rng.normal(size=4), RULES)
        for _ in range(3000)
    ]
    kept = [one.velocity for one in told if isinstance(one, GrowthVelocity)]
    assert len(kept) > 2950  # a few by chance look as if she shrank
    assert np.mean([one.value for one in kept]) == pytest.approx(7.0, abs=0.15)
    assert np.std([one.value for one in kept]) == pytest.approx(kept[0].sd, rel=0.05)


def test_fast_growth_is_a_chance() -> None:
    fast = chance_of_fast_growth(Estimate(8.0, 1.0), fast_cm_per_year=7.0)
    assert fast == pytest.approx(0.8413, abs=0.00005)
    assert chance_of_fast_growth(Estimate(7.0, 3.0), fast_cm_per_year=7.0) == pytest.approx(0.5)


def test_maturity_is_told_by_all_equations_of_her_sex_and_how_far_they_lie_apart() -> None:
    told = judge_maturity(
        EQUATIONS, "girl", Size(11.0, 142.0, sitting_cm=74.5, mass_kg=35.0), allowed_years=1.0
    )
    assert isinstance(told, Maturity)
    assert [one.equation for one in told.offsets] == ["mirwald_girl", "moore_girl"]
    assert told.apart_years == pytest.approx(-1.112 + 1.137, abs=0.001)
    assert not told.disagree


def test_equations_that_lie_far_apart_disagree() -> None:
    """Long legs and little mass: one equation sees them, the other does not."""
    size = Size(12.0, 160.0, sitting_cm=76.0, mass_kg=35.0)
    told = judge_maturity(EQUATIONS, "girl", size, allowed_years=0.4)
    assert isinstance(told, Maturity)
    assert told.disagree
    assert told.apart_years is not None
    wider = judge_maturity(EQUATIONS, "girl", size, allowed_years=told.apart_years)
    assert isinstance(wider, Maturity)
    assert not wider.disagree


def test_without_sitting_height_only_the_equations_that_need_none_are_told() -> None:
    told = judge_maturity(EQUATIONS, "boy", Size(13.0, 155.0), allowed_years=1.0)
    assert isinstance(told, Maturity)
    assert [one.equation for one in told.offsets] == ["moore_boy_stature"]
    assert told.untold == {
        "mirwald_boy": Abstained("not-measured"),
        "moore_boy_sitting": Abstained("not-measured"),
    }
    assert told.apart_years is None
    assert not told.disagree


def test_without_the_sex_no_equation_is_taken() -> None:
    assert judge_maturity(EQUATIONS, None, Size(11.0, 142.0), allowed_years=1.0) == Abstained(
        "sex-not-said"
    )


@pytest.mark.parametrize(
    ("size", "told"),
    [
        (Size(7.4, 120.0), Abstained("age-below-table", 7.4, 7.5)),
        (Size(18.0, 160.0), Abstained("age-above-table", 18.0, 17.5)),
        (Size(11.0, 0.0), Abstained("impossible-size", 0.0, 0.0)),
        (Size(11.0, 142.0, sitting_cm=150.0), Abstained("impossible-size", 150.0, 142.0)),
        (Size(11.0, float("nan")), Abstained("not-measured")),
    ],
)
def test_an_offset_that_cannot_be_told_says_why(size: Size, told: Abstained) -> None:
    moore = next(equation for equation in EQUATIONS if equation.name == "moore_girl")
    assert predict_offset(moore, size) == told


def test_every_offset_carries_the_caution_and_the_larger_error() -> None:
    moore = next(equation for equation in EQUATIONS if equation.name == "moore_girl")
    told = predict_offset(moore, Size(11.0, 142.0))
    assert isinstance(told, MaturityOffset)
    assert told.cautions == ("misjudges-early-and-late",)
    assert told.error_years == 0.70
    late = predict_offset(moore, Size(15.0, 150.0))
    assert isinstance(late, MaturityOffset)
    assert late.cautions == ("misjudges-early-and-late", "outside-best-ages")
