"""What holds of every gymnast's course, whatever her screens show."""

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from chordline.core.capacity.observed import Observed, gather
from chordline.core.geometry.angles import Floats
from chordline.core.progress.change import Answer, find_changes
from chordline.core.progress.filter import Known, filter_forward, know_now
from chordline.core.progress.power import TrueChange, detection_power, planned_rows
from chordline.core.progress.retest import Work, earliest_retest
from chordline.core.progress.smoother import Curve, smooth_timelines
from chordline.core.progress.timeline import ScreenAt, Step, Timeline, plain_timeline
from chordline.core.progress.timeline_layout import Plan, Rows
from chordline.core.progress.timeline_stack import stack_timelines
from progress_squads import (
    AUTO,
    BATTERY,
    CHANGE_RULES,
    HAND,
    MODEL,
    RETEST_RULES,
    N,
    follow,
    place,
    wander,
)

ROWS = [i for i, row in enumerate(MODEL.capacities.rows) if row.measure != "hold_log_s"]
HIP = place("hip_extension_deg")
few = settings(max_examples=40, deadline=None)


@st.composite
def screens(draw: st.DrawFn, least: int = 1, most: int = 5) -> tuple[ScreenAt, ...]:
    """Some measures on some days, some of them far out, some very exact."""
    count = draw(st.integers(least, most))
    day, found = 0, []
    for _ in range(count):
        day += draw(st.integers(1, 700))
        rows = draw(st.lists(st.sampled_from(ROWS), max_size=5, unique=True))
        takes = [
            Observed(
                f"{row}.jpg",
                MODEL.capacities.rows[row].test,
                (MODEL.capacities.rows[row].measure,),
                np.array([draw(st.floats(-60.0, 60.0))]),
                np.eye(1) * draw(st.floats(0.01, 15.0)) ** 2,
            )
            for row in rows
        ]
        marker = draw(st.sampled_from([HAND, AUTO]))
        found.append(ScreenAt(day, gather(MODEL.capacities, takes), marker))
    return tuple(found)


def curve_of(timeline: Timeline) -> Curve:
    return smooth_timelines(MODEL, [timeline])[0]


@few
@given(seen=screens())
def test_every_covariance_of_two_screens_together_is_possible(seen: tuple[ScreenAt, ...]) -> None:
    curve = curve_of(plain_timeline(MODEL, seen))
    last = len(seen) - 1
    shared = curve.shared(0, last)
    both = np.block([[curve.covariance[0], shared], [shared.T, curve.covariance[last]]])
    np.testing.assert_allclose(both, both.T, atol=1e-9)
    assert np.linalg.eigvalsh(both).min() > -1e-8


@few
@given(seen=screens())
def test_looking_back_is_never_less_sure_than_it_was_on_the_day(
    seen: tuple[ScreenAt, ...],
) -> None:
    timeline = plain_timeline(MODEL, seen)
    stack = stack_timelines(MODEL, [timeline])
    then = filter_forward(stack).covariance[:, 0, :N, :N]
    now = curve_of(timeline)
    for day in range(len(seen)):
        assert np.linalg.eigvalsh(then[day] - now.covariance[day]).min() > -1e-8
    np.testing.assert_allclose(now.covariance[-1], then[-1], atol=1e-10)


@few
@given(seen=screens(least=2), shift=st.integers(-5000, 5000))
def test_only_the_days_between_screens_matter(seen: tuple[ScreenAt, ...], shift: int) -> None:
    moved = tuple(ScreenAt(one.day + shift, one.gathered, one.marker) for one in seen)
    here, there = (curve_of(plain_timeline(MODEL, one)) for one in (seen, moved))
    np.testing.assert_allclose(here.mean, there.mean, atol=1e-9)


@few
@given(seen=screens(least=2), at=st.floats(0.1, 0.9))
def test_a_screen_of_nothing_in_between_changes_nothing(
    seen: tuple[ScreenAt, ...], at: float
) -> None:
    day = round(seen[0].day + at * (seen[1].day - seen[0].day))
    if day in (seen[0].day, seen[1].day):
        return
    nothing = ScreenAt(day, gather(MODEL.capacities, []), HAND)
    without = curve_of(plain_timeline(MODEL, seen))
    within = curve_of(plain_timeline(MODEL, (seen[0], nothing, *seen[1:])))
    np.testing.assert_allclose(within.mean[[0, -1]], without.mean[[0, -1]], atol=1e-7)
    np.testing.assert_allclose(within.covariance[[0, -1]], without.covariance[[0, -1]], atol=1e-7)


@few
@given(seen=screens(least=2), drift=st.lists(st.floats(-40.0, 40.0), min_size=N, max_size=N))
def test_which_way_training_should_lead_has_no_say_in_a_verdict(
    seen: tuple[ScreenAt, ...], drift: list[float]
) -> None:
    def judged(sense: float) -> list[tuple[Answer, float]]:
        step = Step(sense * np.array(drift), np.ones(N))
        timeline = Timeline(seen, (step,) * (len(seen) - 1))
        found = find_changes(MODEL, timeline, CHANGE_RULES).since_last
        return [(one.better, one.gain) for one in found]

    assert judged(1.0) == judged(-1.0)


def _after_battery() -> tuple[Known, Rows]:
    rng = np.random.default_rng(1)
    screen = follow([0], wander([0], rng), rng, tests=BATTERY).screens[0]
    plan = Plan(screen.measured, HAND)
    known = know_now(MODEL, plain_timeline(MODEL, (screen,)), plan)
    return known, planned_rows(known.layout, plan)


KNOWN, PLANNED = _after_battery()
worked = st.integers(0, N - 1)
#: Expected gains a week in smallest changes worth knowing.
rates = st.floats(0.0, 3.0)


def retest_days(capacity: int, rate: float, *, noise: float = 1.0, growth: float = 1.0) -> int:
    gains = np.zeros(N)
    gains[capacity] = rate * CHANGE_RULES.worth[capacity]
    rows = Rows(PLANNED.values, PLANNED.matrix, noise * PLANNED.noise)
    found = earliest_retest(
        MODEL,
        KNOWN,
        rows,
        work=Work(gains, 0.3 * CHANGE_RULES.worth * (gains > 0.0)),
        changes=CHANGE_RULES,
        rules=RETEST_RULES,
        growth_factor=growth,
    )
    assert RETEST_RULES.earliest_days <= found.days <= RETEST_RULES.latest_days
    return found.days


@few
@given(capacity=worked, rate=rates, more=rates)
def test_faster_work_never_puts_a_retest_off(capacity: int, rate: float, more: float) -> None:
    assert retest_days(capacity, rate + more) <= retest_days(capacity, rate)


@few
@given(capacity=worked, rate=rates, more=st.floats(1.0, 9.0))
def test_rougher_tests_never_bring_a_retest_forward(
    capacity: int, rate: float, more: float
) -> None:
    assert retest_days(capacity, rate, noise=more) >= retest_days(capacity, rate)


@few
@given(capacity=worked, rate=rates, growth=st.floats(1.0, 5.0), more=st.floats(1.0, 3.0))
def test_growth_never_puts_a_retest_off(
    capacity: int, rate: float, growth: float, more: float
) -> None:
    assert retest_days(capacity, rate, growth=growth * more) <= retest_days(
        capacity, rate, growth=growth
    )


@given(
    gain=st.floats(0.0, 30.0),
    more=st.floats(0.0, 30.0),
    error=st.floats(0.1, 20.0),
    believed=st.floats(0.01, 400.0),
    wider=st.floats(1.0, 50.0),
)
def test_power_rises_with_the_gain_and_with_what_was_to_be_expected(
    gain: float, more: float, error: float, believed: float, wider: float
) -> None:
    def power(gain: float, believed: float) -> Floats:
        change = TrueChange(np.array(gain), np.array(0.0))
        return detection_power(
            change, error_sd=np.array(error), believed_variance=np.array(believed), sure=0.95
        )

    assert power(gain + more, believed) >= power(gain, believed)
    assert power(gain, believed * wider) >= power(gain, believed)
    assert power(0.0, believed) <= 0.05
