"""Which backups are kept, and when the next is due."""

from datetime import UTC, datetime, time, timedelta, timezone

import pytest

from chordline.application.backup.backup_health import age_in_words, examine_clock
from chordline.application.backup.generations import to_keep
from chordline.application.backup.records import Keep, backup_name, moment_of
from chordline.application.backup.schedule import is_due

EVENING = datetime(2026, 11, 27, 20, 30, tzinfo=UTC)
DAILY = [EVENING - timedelta(days=back) for back in range(400)]


def test_a_year_of_days_leaves_days_weeks_and_months():
    stay = to_keep(DAILY, Keep(7, 5, 12), UTC)
    ages = sorted((EVENING - at).days for at in stay)
    assert ages[:7] == [0, 1, 2, 3, 4, 5, 6]
    # 27 November 2026 is a Friday: the latest of a week is its Sunday.
    assert {5, 12, 19, 26} <= set(ages)
    assert len(ages) == 7 + 3 + 11
    assert {at.date().isoformat() for at in stay} >= {"2026-10-31", "2026-09-30", "2025-12-31"}


def test_pruning_every_day_keeps_what_pruning_once_keeps():
    there: set[datetime] = set()
    for at in reversed(DAILY):
        there = to_keep({*there, at}, Keep(), UTC)
    assert there == to_keep(DAILY, Keep(), UTC)


def test_the_latest_three_stay_though_they_are_of_one_day():
    hours = [EVENING - timedelta(hours=back) for back in range(6)]
    assert to_keep(hours, Keep(1, 0, 0), UTC) == set(hours[:3])


def test_a_day_begins_where_the_gym_is():
    late = datetime(2026, 11, 26, 23, 30, tzinfo=UTC)
    early = datetime(2026, 11, 27, 0, 30, tzinfo=UTC)
    newer = [EVENING + timedelta(days=days) for days in (1, 2, 3)]
    there = [late, early, *newer]
    assert late in to_keep(there, Keep(9, 0, 0), UTC)
    assert late not in to_keep(there, Keep(9, 0, 0), timezone(timedelta(hours=1)))


@pytest.mark.parametrize(
    ("now", "last", "due"),
    [
        ("27T21:29", "26T21:30", False),
        ("27T21:30", "26T21:31", True),
        ("28T09:00", "26T21:31", True),  # the machine was off in the evening
        ("28T09:00", "27T21:30", False),
        ("28T09:00", None, True),
        ("20T09:00", "27T21:30", True),  # the clock was set back
    ],
)
def test_a_backup_is_due_once_a_day_and_a_missed_one_at_once(now, last, due):
    def moment(text):
        return datetime.fromisoformat(f"2026-11-{text}").replace(tzinfo=UTC)

    made = None if last is None else moment(last)
    assert is_due(moment(now), time(21, 30), last_made=made) is due
    assert not is_due(moment(now), None, last_made=made)


def test_after_a_failure_it_waits_an_hour():
    now = EVENING
    soon, later = now - timedelta(minutes=59), now - timedelta(minutes=61)
    assert not is_due(now, time(20), last_made=None, failed_at=soon)
    assert is_due(now, time(20), last_made=None, failed_at=later)


def test_a_name_tells_the_moment_and_no_other_file_is_taken_for_a_backup():
    assert moment_of(backup_name(EVENING)) == EVENING
    for name in ("chordline-2026-13-01T000000Z.backup", "x.backup", "../x", "ring"):
        assert moment_of(name) is None


def test_ages_and_a_clock_that_is_behind_are_told():
    assert age_in_words(timedelta(seconds=20)) == "less than a minute"
    assert age_in_words(timedelta(hours=30)) == "30 hours"
    assert age_in_words(timedelta(days=8)) == "8 days"
    assert examine_clock(EVENING, EVENING + timedelta(hours=2)) == ()
    (finding,) = examine_clock(EVENING, EVENING + timedelta(days=300))
    assert finding.state == "broken"
