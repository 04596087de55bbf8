"""A group's calendar, read back by a program that reads calendars."""

from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path

import pytest
from icalendar import Calendar

from chordline.adapters.calendar.ics import write_ics
from chordline.application.training.calendar import CalendarEntry, GroupCalendar
from chordline.errors import NotThereError, RefusedInputError
from club_stories import MONDAY
from training_stories import keep_plan, open_group, planned_session, turn

WRITTEN = datetime(2025, 8, 30, 9, 30, tzinfo=UTC)
EVENING = CalendarEntry("one@chordline", MONDAY, time(17, 0), 75, "Level 3, Monday; mats")
TEST_DAY = CalendarEntry("two@chordline", MONDAY, None, None, "Test again", "Level 3")


def read(data: bytes) -> list:
    return list(Calendar.from_ical(data).walk("VEVENT"))


def test_a_session_begins_by_the_clock_of_the_gym_and_has_its_end() -> None:
    (event,) = read(write_ics("Level 3", [EVENING], written_at=WRITTEN))
    assert event["uid"] == "one@chordline"
    assert event["summary"] == "Level 3, Monday; mats"
    assert event.decoded("dtstart") == datetime(2025, 9, 1, 17, 0)
    assert event.decoded("dtend") - event.decoded("dtstart") == timedelta(minutes=75)
    assert event.decoded("dtstamp") == WRITTEN


def test_what_has_no_time_lasts_the_whole_day_and_keeps_nobody_busy() -> None:
    (event,) = read(write_ics("Level 3", [TEST_DAY], written_at=WRITTEN))
    assert event.decoded("dtstart") == date(2025, 9, 1)
    assert event.decoded("dtend") == date(2025, 9, 2)
    assert event["transp"] == "TRANSPARENT"
    assert event["description"] == "Level 3"


def test_the_same_entries_give_the_same_bytes() -> None:
    once = write_ics("Level 3", [EVENING, TEST_DAY], written_at=WRITTEN)
    assert once == write_ics("Level 3", [EVENING, TEST_DAY], written_at=WRITTEN)
    assert all(len(line) <= 75 for line in once.split(b"\r\n"))


def test_a_groups_calendar_has_its_sessions_and_test_days_and_names_no_child(
    tmp_path: Path,
) -> None:
    records, group_id, girls = open_group(tmp_path, "Annabella", "Beatrix", group="Level 3")
    later = MONDAY + timedelta(days=2)
    keep_plan(
        records,
        group_id,
        planned_session(MONDAY, [turn(0, "lunge", girls[0].id)]),
        {**planned_session(later, [turn(0, "lunge", girls[1].id)]), "starts_at": None},
    )
    make = GroupCalendar(records, write_ics)
    test_day = (MONDAY + timedelta(days=28), "Level 3: test again")
    data = make(group_id, today=MONDAY, retests=[test_day])
    assert b"Annabella" not in data
    assert b"Beatrix" not in data
    events = read(data)
    days = [event.decoded("dtstart") for event in events]
    assert days == [datetime(2025, 9, 1, 17, 0), later, test_day[0]]
    assert events[2]["summary"] == "Level 3: test again"
    # Planned again, the same evenings replace those that a phone has already.
    keep_plan(records, group_id, planned_session(later, [turn(0, "wall", girls[1].id)]))
    again = read(make(group_id, today=later))
    assert [event["uid"] for event in again] == [events[1]["uid"]]
    assert len({event["uid"] for event in events}) == 3
    records.close()


def test_until_a_later_plan_begins_the_one_before_has_the_sessions(tmp_path: Path) -> None:
    records, group_id, _ = open_group(tmp_path)
    days = [MONDAY + timedelta(days=7 * weeks) for weeks in range(3)]
    keep_plan(records, group_id, *map(planned_session, days))
    moved = days[1] + timedelta(days=1)
    keep_plan(records, group_id, planned_session(moved), first_day=days[1])
    events = read(GroupCalendar(records, write_ics)(group_id, today=MONDAY))
    assert [event.decoded("dtstart").date() for event in events] == [days[0], moved]
    records.close()


def test_the_same_evening_of_two_clubs_is_two_entries(tmp_path: Path) -> None:
    uids = set()
    for name in ("Turnverein", "Other club"):
        records, group_id, _ = open_group(tmp_path / name)
        with records.transaction() as tx:
            if tx.clubs.all()[0].name != name:
                tx.clubs.rename(tx.clubs.all()[0].id, name)
        keep_plan(records, group_id, planned_session(MONDAY))
        uids.update(
            one["uid"] for one in read(GroupCalendar(records, write_ics)(group_id, today=MONDAY))
        )
        records.close()
    assert len(uids) == 2


def test_a_group_without_a_plan_has_no_calendar(tmp_path: Path) -> None:
    records, group_id, _ = open_group(tmp_path)
    make = GroupCalendar(records, write_ics)
    with pytest.raises(RefusedInputError, match="no plan yet"):
        make(group_id, today=MONDAY)
    with pytest.raises(NotThereError):
        make(99, today=MONDAY)
    records.close()
