from dataclasses import replace

import numpy as np
import pytest

from chordline.core.capacity.observed import Gathered, gather
from chordline.core.geometry.angles import Floats
from chordline.core.progress.filter import Known, know_now
from chordline.core.progress.power import (
    TrueChange,
    change_error,
    detection_power,
    planned_rows,
    smallest_seen,
)
from chordline.core.progress.retest import Retest, RetestRules, Why, Work, earliest_retest
from chordline.core.progress.timeline import Marker, ScreenAt, plain_timeline
from chordline.core.progress.timeline_layout import Plan, Rows
from progress_squads import (
    AUTO,
    BATTERY,
    CHANGE_RULES,
    HAND,
    MODEL,
    RETEST_RULES,
    SHORT_SCREEN,
    N,
    follow,
    place,
    wander,
)

HIP = place("hip_extension_deg")
TUCK = place("pelvic_tuck_deg")
IDLE = Work(np.zeros(N), np.zeros(N))
#: Nothing is ever in doubt, so that only a change can call.
NO_DOUBT = replace(RETEST_RULES, doubt_sd=np.full(N, np.inf))


def after_a_screen(
    tests: tuple[str, ...] = BATTERY, takes: int = 1, marker: Marker = HAND
) -> tuple[Known, Rows]:
    rng = np.random.default_rng(1)
    screen = follow([0], wander([0], rng), rng, tests=tests).screens[0]
    plan = Plan(screen.measured * takes, marker)
    known = know_now(MODEL, plain_timeline(MODEL, (screen,)), plan)
    return known, planned_rows(known.layout, plan)


def work_on(capacity: int, per_week: float, sd: float = 0.0) -> Work:
    gains, sds = np.zeros(N), np.zeros(N)
    gains[capacity], sds[capacity] = per_week, sd
    return Work(gains, sds)


def retest(
    work: Work,
    *,
    rules: RetestRules = NO_DOUBT,
    growth: float = 1.0,
    screen: tuple[Known, Rows] | None = None,
) -> Retest:
    known, planned = screen or after_a_screen()
    return earliest_retest(
        MODEL, known, planned, work=work, changes=CHANGE_RULES, rules=rules, growth_factor=growth
    )


def test_good_work_calls_for_a_retest_when_it_can_be_seen() -> None:
    found = retest(work_on(HIP, 2.5))
    assert found.why is Why.CHANGE
    assert found.capacity == "hip_extension_deg"
    assert RETEST_RULES.earliest_days < found.days < RETEST_RULES.latest_days
    assert found.power >= RETEST_RULES.power


def test_the_day_before_the_change_would_not_have_been_seen() -> None:
    found = retest(work_on(HIP, 2.5))
    sooner = retest(work_on(HIP, 2.5), rules=replace(NO_DOUBT, latest_days=found.days - 1))
    assert sooner.why is Why.LATEST
    assert sooner.power < RETEST_RULES.power


def test_no_work_waits_for_the_latest_day() -> None:
    found = retest(IDLE)
    assert (found.days, found.why, found.capacity) == (
        RETEST_RULES.latest_days,
        Why.LATEST,
        None,
    )
    assert found.power == 0.0


def test_even_the_best_work_is_not_looked_at_before_the_earliest_day() -> None:
    found = retest(work_on(HIP, 40.0))
    assert (found.days, found.why) == (RETEST_RULES.earliest_days, Why.CHANGE)


def test_a_change_that_is_seen_but_not_worth_knowing_does_not_call() -> None:
    changes = replace(CHANGE_RULES, worth=np.full(N, 1000.0))
    known, planned = after_a_screen()
    found = earliest_retest(
        MODEL, known, planned, work=work_on(HIP, 2.5), changes=changes, rules=NO_DOUBT
    )
    assert found.why is Why.LATEST


def test_what_the_planned_tests_do_not_show_cannot_call() -> None:
    chain = place("front_chain_s")
    assert retest(work_on(chain, 0.2), screen=after_a_screen(SHORT_SCREEN)).why is Why.LATEST
    assert retest(work_on(chain, 0.2)).why is Why.CHANGE


def test_growth_makes_what_was_known_old_sooner() -> None:
    slow, fast = (retest(IDLE, rules=RETEST_RULES, growth=factor) for factor in (1.0, 4.0))
    assert fast.days < slow.days
    assert fast.why is Why.DOUBT


def test_what_was_never_known_does_not_call_by_doubt() -> None:
    """A short screen tells nothing of the chains; that asks for another test, not a later one."""
    screen = after_a_screen(SHORT_SCREEN)
    chain = place("front_chain_s")
    limits = np.full(N, np.inf)
    limits[chain] = RETEST_RULES.doubt_sd[chain]
    rules = replace(RETEST_RULES, doubt_sd=limits)
    assert retest(IDLE, rules=rules, screen=screen).why is Why.LATEST
    assert retest(IDLE, rules=rules).why is Why.DOUBT


def test_doubt_calls_on_the_first_day_beyond_its_sd() -> None:
    known, planned = after_a_screen()
    day = 50
    variance = known.belief.covariance[TUCK, TUCK]
    limits = np.full(N, np.inf)
    limits[TUCK] = np.sqrt(variance + (day - 0.5) * MODEL.wander_variance_per_day[TUCK])
    found = retest(IDLE, rules=replace(RETEST_RULES, doubt_sd=limits), screen=(known, planned))
    assert (found.days, found.why, found.capacity) == (day, Why.DOUBT, "pelvic_tuck_deg")


def error_of(screen: tuple[Known, Rows], capacity: int, days: int = 56) -> float:
    known, planned = screen
    believed = MODEL.wander_variance_per_day * days
    return float(change_error(known.belief, planned, believed, capacity=capacity))


def test_a_second_take_of_every_test_shows_a_change_better() -> None:
    once, twice = after_a_screen(), after_a_screen(takes=2)
    assert error_of(twice, HIP) < error_of(once, HIP)


def test_marks_of_another_kind_the_next_time_show_a_change_worse() -> None:
    assert error_of(after_a_screen(marker=AUTO), HIP) > error_of(after_a_screen(), HIP)


def test_a_test_that_says_nothing_of_a_capacity_has_no_error_to_speak_of() -> None:
    assert error_of(after_a_screen(SHORT_SCREEN), place("neck_flexion_deg")) == np.inf


def test_the_change_error_is_that_of_the_best_estimate_of_the_change() -> None:
    """By hand: one measure, known level, one rival."""
    known, _ = after_a_screen()
    d = len(known.belief.mean)
    row = np.zeros((1, d))
    row[0, HIP], row[0, TUCK] = -0.5, 0.25
    nothing = type(known.belief)(known.belief.states, np.zeros(d), np.zeros((d, d)))
    believed = np.zeros(N)
    believed[TUCK], believed[HIP] = 16.0, 100.0
    rows = Rows(np.zeros(1), row, np.eye(1) * 3.0)
    expected = np.sqrt((3.0 + 0.25**2 * 16.0) / 0.5**2)
    assert change_error(nothing, rows, believed, capacity=HIP) == pytest.approx(expected)


def power(gain: float, error: float = 3.0, believed: float = 16.0, gain_sd: float = 0.0) -> Floats:
    change = TrueChange(np.array(gain), np.array(gain_sd))
    return detection_power(
        change, error_sd=np.array(error), believed_variance=np.array(believed), sure=0.95
    )


def test_no_gain_is_claimed_less_often_than_once_in_twenty() -> None:
    assert 0.0 < power(0.0) < 0.05
    assert power(0.0, believed=1e9) == pytest.approx(0.05, abs=1e-4)


def test_nothing_is_seen_where_no_test_looks_or_no_change_is_believed_possible() -> None:
    assert power(50.0, error=np.inf) == 0.0
    assert power(50.0, believed=0.0) == 0.0


def test_a_gain_of_the_smallest_seen_is_seen_with_that_power() -> None:
    least = smallest_seen(
        error_sd=np.array(3.0), believed_variance=np.array(16.0), sure=0.95, power=0.8
    )
    assert power(float(least)) == pytest.approx(0.8)


def test_planned_rows_have_the_errors_of_a_screen_that_went_as_expected() -> None:
    rng = np.random.default_rng(3)
    screen = follow([0], wander([0], rng), rng, tests=SHORT_SCREEN).screens[0]
    plan = Plan(screen.measured, HAND)
    known = know_now(MODEL, plain_timeline(MODEL, (screen,)), plan)
    planned, real = planned_rows(known.layout, plan), known.layout.rows(screen)
    np.testing.assert_allclose(planned.matrix, real.matrix)
    np.testing.assert_allclose(planned.noise, real.noise)


def test_a_screen_of_nothing_can_be_planned_after() -> None:
    nothing: Gathered = gather(MODEL.capacities, [])
    screen = ScreenAt(0, nothing, HAND)
    plan = Plan((), HAND)
    known = know_now(MODEL, plain_timeline(MODEL, (screen,)), plan)
    planned = planned_rows(known.layout, plan)
    found = retest(work_on(HIP, 2.5), screen=(known, planned))
    assert found.why is Why.LATEST
