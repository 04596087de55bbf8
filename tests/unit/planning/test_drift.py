import pytest

from chordline.core.estimate import Estimate
from chordline.core.planning.drift import drift_of_work, lessen
from chordline.core.planning.problem import Exercise

LUNGE = Exercise(
    id="lunge",
    kind="range",
    minutes=4.0,
    group="hip_flexors",
    hard=False,
    feeds={"hip_extension_deg": Estimate(1.0, 0.5)},
    weekly_dose_min=8.0,
)
RAISE = Exercise(
    id="raise",
    kind="active",
    minutes=4.0,
    group="hip_flexors",
    hard=False,
    feeds={"hip_extension_deg": Estimate(0.4, 0.3)},
    weekly_dose_min=4.0,
)
KNOWN = {one.id: one for one in (LUNGE, RAISE)}


def test_half_a_dose_takes_half_away() -> None:
    drift = drift_of_work(KNOWN, [{"lunge": 4.0}])
    assert drift["hip_extension_deg"].value == pytest.approx(-0.5)
    assert drift["hip_extension_deg"].sd == pytest.approx(0.25)


def test_more_than_a_dose_in_a_week_gives_no_more() -> None:
    once = drift_of_work(KNOWN, [{"lunge": 8.0}])
    assert drift_of_work(KNOWN, [{"lunge": 80.0}]) == once
    assert drift_of_work(KNOWN, [{"lunge": 8.0}, {"lunge": 8.0}]) != once


def test_doubt_adds_up_over_weeks_and_by_squares_over_exercises() -> None:
    weeks = drift_of_work(KNOWN, [{"lunge": 8.0}] * 4)["hip_extension_deg"]
    assert (weeks.value, weeks.sd) == (pytest.approx(-4.0), pytest.approx(2.0))
    both = drift_of_work(KNOWN, [{"lunge": 8.0, "raise": 4.0}])["hip_extension_deg"]
    assert (both.value, both.sd) == (pytest.approx(-1.4), pytest.approx((0.25 + 0.09) ** 0.5))


def test_work_of_an_exercise_that_the_catalogue_has_no_more_is_left_out() -> None:
    assert drift_of_work(KNOWN, [{"gone": 20.0}]) == {}


def test_a_shortfall_is_lessened_and_less_sure() -> None:
    after = lessen(Estimate(10.0, 3.0), Estimate(-2.0, 4.0))
    assert (after.value, after.sd) == (8.0, 5.0)
    assert lessen(Estimate(10.0, 3.0), None) == Estimate(10.0, 3.0)
