"""Planning again keeps what was asked for."""

from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path

import pytest

from chordline.adapters.db.records import SqlRecords
from chordline.application.training.plan_wish import PlanWish, WishedTurn, wish_to_json
from chordline.application.training.replan import Replan
from chordline.errors import NotThereError
from club_stories import MONDAY
from training_stories import OURS, keep_plan, open_group, planned_session

WEEK = timedelta(days=7)
ANNA, BEA = 1, 2


@pytest.fixture
def records(tmp_path: Path) -> Iterator[SqlRecords]:
    opened, _, _ = open_group(tmp_path, "Anna", "Bea")
    yield opened
    opened.close()


def keep(records: SqlRecords, **asked: object) -> None:
    wish = PlanWish(MONDAY, 4, "Kim", MONDAY, **asked)
    kept = keep_plan(records, 1, planned_session(MONDAY))
    with records.transaction() as tx:
        record = {**kept.record, "asked": wish_to_json(wish)}
        tx.training.add_plan(1, first_day=MONDAY, record=record, author="Kim")


def wish(records: SqlRecords, first_day: date = MONDAY) -> PlanWish:
    return Replan(records, OURS).wish(1, first_day=first_day, author="Lou", today=MONDAY)


def test_a_first_plan_asks_for_nothing_but_the_usual_weeks(records: SqlRecords) -> None:
    assert wish(records) == PlanWish(MONDAY, int(OURS.setting("weeks")), "Lou", MONDAY)


def test_what_stood_stays_but_for_what_is_over(records: SqlRecords) -> None:
    keep(
        records,
        pins=(WishedTurn("lunge", ANNA), WishedTurn("dish", ANNA, MONDAY)),
        exclusions=(WishedTurn("press", BEA),),
        absences={MONDAY: frozenset({BEA}), MONDAY + WEEK: frozenset({ANNA})},
    )
    later = wish(records, MONDAY + WEEK)
    assert (later.first_day, later.weeks, later.author) == (MONDAY + WEEK, 4, "Lou")
    assert later.pins == (WishedTurn("lunge", ANNA),)
    assert later.exclusions == (WishedTurn("press", BEA),)
    assert later.absences == {MONDAY + WEEK: frozenset({ANNA})}


def test_who_was_erased_is_asked_for_no_more(records: SqlRecords) -> None:
    keep(
        records,
        pins=(WishedTurn("lunge", ANNA), WishedTurn("hang")),
        absences={MONDAY + WEEK: frozenset({ANNA})},
    )
    with records.transaction() as tx:
        tx.gymnasts.erase(ANNA)
    left = wish(records)
    assert left.pins == (WishedTurn("hang"),)
    assert left.absences == {}


def test_a_group_that_is_not_there_is_told(records: SqlRecords) -> None:
    with pytest.raises(NotThereError):
        Replan(records, OURS).wish(77, first_day=MONDAY, author="Lou", today=MONDAY)
