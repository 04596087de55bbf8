"""What is told of change: words, what would decide it, work beside it, and when to test again."""

from dataclasses import replace
from datetime import date, datetime, timedelta
from itertools import pairwise

import pytest

from chordline.application.club.records import Consent, GymnastRecord, ScreenRecord
from chordline.application.observations import is_by_hand
from chordline.application.progress.dose import minutes_by_capacity
from chordline.application.progress.judge_her import judge_her
from chordline.application.progress.numbers import read_numbers
from chordline.application.progress.progress_json import progress_to_json
from chordline.application.progress.progress_words import (
    decider_in_words,
    gain_in_words,
    note_in_words,
    told_in_words,
    why_in_words,
)
from chordline.application.progress.retest_calendar import RetestCalendar
from chordline.application.progress.timelines import (
    Counted,
    HerTimeline,
    exercises_of,
    weeks_of,
    work_between,
)
from chordline.application.progress.told import CapacityProgress, Progress, Standing
from chordline.application.training.records import WorkRecord
from chordline.catalogue.training import load_training
from chordline.core.estimate import Estimate
from chordline.core.planning.drift import drift_of_work
from chordline.core.progress.retest import Why
from chordline.core.progress.timeline import ScreenAt, Step, Timeline
from screen_stories import CATALOGUE, FIND, story

NUMBERS = read_numbers(CATALOGUE)
TRAINING = load_training(CATALOGUE)
EXERCISES = exercises_of(TRAINING)
ADA = GymnastRecord(1, 1, "Ada", 7, None, Consent(), None, 1)
FIRST, LATER = date(2025, 3, 3), date(2025, 5, 5)
CLOSED = {
    "prone_sides": {"hip": 0.0},
    "prone_overhead": {"shoulder": -28.0},
    "prone_raised": {"shoulder": -27.0},
    "prone_active": {"shoulder": -29.0},
}
OPEN = {
    "prone_sides": {"hip": 0.0},
    "prone_overhead": {"shoulder": -3.0},
    "prone_raised": {"shoulder": -2.0},
    "prone_active": {"shoulder": -4.0},
}


def counted(day: date, shown: dict[str, dict[str, float]], number: int = 1) -> Counted:
    screen = story(**shown)
    gathered = FIND.gather(screen)
    assert is_by_hand(screen.measurements)
    at = ScreenAt(day.toordinal(), gathered, NUMBERS.by_hand)
    return Counted(ScreenRecord(number, 1, day, 1), at, by_hand=True)


def hers(*screens: Counted, work: tuple[WorkRecord, ...] = (), growth: float = 1.0) -> HerTimeline:
    steps = []
    for one, other in pairwise(screens):
        done = weeks_of(work_between(work, earlier=one.day, later=other.day))
        drift = drift_of_work(EXERCISES, done)
        none = Estimate(0.0, 0.0)
        found = [drift.get(name, none) for name in NUMBERS.model.names]
        quiet = Step.quiet(len(found))
        steps.append(replace(quiet, drift_mean=quiet.drift_mean + [one.value for one in found]))
    timeline = Timeline(tuple(one.at for one in screens), tuple(steps)) if screens else None
    return HerTimeline(ADA, screens, 0, timeline, work, growth)


def told(her: HerTimeline, *, blocked: tuple[str, ...] = (), gains=None) -> Progress:  # type: ignore[no-untyped-def]
    day = date(2025, 6, 2)
    return judge_her(her, NUMBERS, EXERCISES, blocked=blocked, gains=gains or {}, day=day)


def of(progress: Progress, capacity: str) -> CapacityProgress:
    return next(one for one in progress.capacities if one.name == capacity)


def done(exercise: str, day: date, minutes: float = 20.0, share: float = 1.0) -> WorkRecord:
    return WorkRecord(1, 1, day, exercise, share, minutes, "Kim")


def test_a_change_is_told_with_its_size_its_day_and_its_probability() -> None:
    progress = told(hers(counted(FIRST, CLOSED), counted(LATER, OPEN, 2)))
    since = of(progress, "shoulder_flexion_deg").since_last
    assert since is not None
    assert since.standing is Standing.BETTER
    words = told_in_words("Shoulders", since)
    assert words.startswith("Shoulders: ")
    assert "° less missing than on 3 Mar 2025 – real change: yes (over 99 %)" in words


def test_the_way_back_is_told_as_more_missing_and_away_from_the_line() -> None:
    progress = told(hers(counted(FIRST, OPEN), counted(LATER, CLOSED, 2)))
    since = of(progress, "shoulder_flexion_deg").since_last
    assert since is not None
    assert since.standing is Standing.WORSE
    assert "more missing" in told_in_words("", since)
    assert "away from the line" in told_in_words("", since)


def test_one_screen_has_no_change_and_says_so() -> None:
    progress = told(hers(counted(FIRST, CLOSED)))
    assert note_in_words(progress) == (
        "One screen only: a change needs two. Hers is of 3 Mar 2025."
    )
    assert {one.since_last for one in progress.capacities} == {None}
    assert progress.measured_last == ()
    assert progress.retest is not None


def test_no_screen_has_nothing_but_a_sentence() -> None:
    progress = told(hers())
    assert note_in_words(progress).startswith("No screen counts yet")
    assert (progress.capacities, progress.retest) == ((), None)


def test_work_without_a_measured_change_is_no_change() -> None:
    exercise = next(name for name, one in EXERCISES.items() if "shoulder_flexion_deg" in one.feeds)
    work = tuple(done(exercise, FIRST + timedelta(days=n)) for n in range(1, 60))
    progress = told(hers(counted(FIRST, CLOSED), counted(LATER, CLOSED, 2), work=work))
    since = of(progress, "shoulder_flexion_deg").since_last
    assert since is not None
    assert since.standing is not Standing.BETTER


def test_no_is_said_only_where_neither_direction_is_left() -> None:
    thrice = {name: {**shown} for name, shown in CLOSED.items()}
    screens = [counted(FIRST + timedelta(days=n), thrice, n + 1) for n in (0, 2)]
    progress = told(hers(*screens))
    for one in progress.capacities:
        since = one.since_last
        assert since is not None
        if since.standing is Standing.NO:
            assert max(since.change.p_better_by_worth, since.change.p_worse_by_worth) <= 0.05


@pytest.mark.parametrize("test", ["prone-overhead", "prone-raised", "prone-active"])
def test_what_is_not_yet_known_names_the_test_that_the_earlier_screen_had(test: str) -> None:
    name = test.replace("-", "_")
    only = {name: CLOSED[name]}
    progress = told(hers(counted(FIRST, only), counted(LATER, CLOSED, 2)))
    since = of(progress, "shoulder_flexion_deg").since_last
    assert since is not None
    assert since.standing is Standing.NOT_YET_KNOWN
    assert since.ask == test
    assert f"‘{CATALOGUE.tests[test].title}’" in decider_in_words(since, CATALOGUE)


def test_a_test_that_a_sign_stops_is_not_asked_for() -> None:
    screens = (counted(FIRST, CLOSED), counted(LATER, CLOSED, 2))
    free = of(told(hers(*screens)), "shoulder_flexion_deg").since_last
    assert free is not None
    assert free.ask is not None
    barred = of(told(hers(*screens), blocked=(free.ask,)), "shoulder_flexion_deg").since_last
    assert barred is not None
    assert barred.ask not in {None, free.ask}


def test_a_capacity_that_one_screen_never_looked_at_is_not_known_to_have_changed() -> None:
    only_hips = {"prone_sides": {"hip": 0.0}}
    progress = told(hers(counted(FIRST, CLOSED), counted(LATER, only_hips, 2)))
    since = of(progress, "shoulder_active_lag_deg").since_last
    assert since is not None
    assert not since.change.told
    assert "the tests tell nothing of a change" in told_in_words("", since)
    assert "in both screens" in decider_in_words(since, CATALOGUE)


def test_the_curve_goes_through_the_screens_and_opens_after_the_last() -> None:
    progress = told(hers(counted(FIRST, CLOSED), counted(LATER, OPEN, 2)))
    one = of(progress, "shoulder_flexion_deg")
    assert [at.day for at in one.at_screens] == [FIRST, LATER]
    assert one.curve[-1].day == date(2025, 6, 2)
    assert one.curve[-1].sd > one.latest.sd
    assert one.curve[-1].mean == one.latest.mean
    inside = one.curve[1 : one.curve.index(one.latest)]
    assert all(one.latest.mean < at.mean < one.at_screens[0].mean for at in inside)
    assert max(at.sd for at in inside) > max(at.sd for at in one.at_screens)


def test_a_screen_that_did_not_look_at_a_capacity_is_an_open_point() -> None:
    only_hips = {"prone_sides": {"hip": 0.0}}
    progress = told(hers(counted(FIRST, CLOSED), counted(LATER, only_hips, 2)))
    seen = [at.measured for at in of(progress, "shoulder_flexion_deg").at_screens]
    assert seen == [True, False]


def test_minutes_are_told_once_and_what_the_catalogue_has_no_more_is_left_out() -> None:
    exercise = next(name for name, one in EXERCISES.items() if len(one.feeds) > 1)
    work = (done(exercise, FIRST, 10.0, 0.5), done("gone", FIRST), done(exercise, FIRST, 8.0, 0.0))
    spent = minutes_by_capacity(work, EXERCISES, CATALOGUE)
    assert sum(spent.values()) == pytest.approx(5.0)


def test_work_on_the_days_of_the_screens_does_not_count() -> None:
    work = tuple(done("x", day) for day in (FIRST, FIRST + timedelta(days=1), LATER))
    assert [one.held_on for one in work_between(work, earlier=FIRST, later=LATER)] == [
        FIRST + timedelta(days=1)
    ]


def test_growth_brings_the_retest_nearer_and_says_so() -> None:
    slow = told(hers(counted(FIRST, CLOSED))).retest
    fast = told(hers(counted(FIRST, CLOSED), growth=2.0)).retest
    assert slow is not None
    assert fast is not None
    assert slow.why is fast.why is Why.DOUBT
    assert fast.due < slow.due
    assert "growing fast" in why_in_words(fast, CATALOGUE)
    assert "growing fast" not in why_in_words(slow, CATALOGUE)


def test_a_plan_that_works_brings_the_day_on_which_it_would_be_seen() -> None:
    gains = {"shoulder_flexion_deg": Estimate(3.0, 0.5)}
    retest = told(hers(counted(FIRST, CLOSED)), gains=gains).retest
    assert retest is not None
    assert retest.why is Why.CHANGE
    assert retest.gain is not None
    weeks = (retest.due - FIRST).days / 7.0
    assert retest.gain.value == pytest.approx(3.0 * weeks)
    assert f"brought {3.0 * weeks:.0f}° less missing" in why_in_words(retest, CATALOGUE)


def test_growth_that_nobody_knows_widens_nothing() -> None:
    assert NUMBERS.growth_factor(None) == 1.0
    assert NUMBERS.growth_factor(0.0) == 1.0
    assert NUMBERS.growth_factor(1.0) == NUMBERS.fast_growth_factor


@pytest.mark.parametrize(
    ("gain", "words"),
    [
        (0.2, "held 22 % ± 24 % longer"),
        (-0.2, "held 18 % ± 16 % shorter"),
    ],
)
def test_a_hold_is_told_in_shares_of_its_time(gain: float, words: str) -> None:
    assert gain_in_words("front_chain_s", gain, 0.1) == words


def test_a_change_that_rounds_to_nothing_has_no_direction() -> None:
    assert gain_in_words("hip_extension_deg", 0.3, 3.0) == "0° ± 6°"


def test_the_calendar_counts_and_names_nobody() -> None:
    written: list[object] = []

    def write(name, entries, *, written_at):  # type: ignore[no-untyped-def]
        written.extend([name, *entries])
        return b"x"

    retest = told(hers(counted(FIRST, CLOSED))).retest
    assert retest is not None
    late = date(2030, 1, 1)
    RetestCalendar(write)("Red", [retest, retest], today=late, written_at=datetime(2030, 1, 1))
    name, entry = written
    assert name == "Re-tests, Red"
    assert (entry.day, entry.title) == (late, "Re-tests due: 2 gymnasts")  # type: ignore[attr-defined]
    assert "Ada" not in str(entry)


def test_json_has_the_curve_the_changes_and_what_decides() -> None:
    progress = told(hers(counted(FIRST, CLOSED), counted(LATER, OPEN, 2)))
    record = progress_to_json(progress, NUMBERS)
    assert record["schema"] == "chordline.progress/1"
    found = record["capacities"]["shoulder_flexion_deg"]
    assert found["since_last"]["standing"] == "better"
    assert found["since_last"]["gain"]["mean"] > 0.0
    assert [one["day"] for one in found["curve"]] == ["2025-03-03", "2025-05-05"]
    assert [one["marks"] for one in record["screens"]] == ["hand", "hand"]
    assert any(one["beyond_error"] for one in record["measured"]["since_last"])
