"""Planning again keeps what was asked for."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import timedelta
from pathlib import Path

import pytest

from chordline.adapters.db.records import SqlRecords
from chordline.application.training.plan_wish import PlanWish, WishedTurn, wish_to_json
from chordline.application.training.replan import Replan
from club_stories import MONDAY
from training_stories import OURS, keep_plan, open_group, planned_session

WEEK = timedelta(days=7)
ANNA, BEA = 1, 2


@dataclass
class Maker:
    """Keeps what it is asked for."""

    wishes: list[PlanWish] = field(default_factory=list)

    def __call__(self, group_id: int, wish: PlanWish, **_: object) -> None:
        self.wishes.append(wish)


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


def test_a_first_plan_asks_for_nothing_but_the_usual_weeks(records: SqlRecords) -> None:
    wish = Replan(records, Maker(), OURS).wish(1, first_day=MONDAY, author="Lou", today=MONDAY)
    weeks = int(OURS.setting("weeks"))
    assert wish == PlanWish(MONDAY, weeks, "Lou", MONDAY)


def test_what_stood_stays_and_what_is_added_comes_to_it(records: SqlRecords) -> None:
    keep(
        records,
        pins=(WishedTurn("lunge", ANNA), WishedTurn("dish", ANNA, MONDAY)),
        exclusions=(WishedTurn("press", BEA),),
        absences={MONDAY + WEEK: frozenset({ANNA})},
    )
    maker = Maker()
    Replan(records, maker, OURS)(
        1,
        author="Lou",
        today=MONDAY + WEEK,
        pins=(WishedTurn("lunge", ANNA), WishedTurn("hang")),
        absences={MONDAY + WEEK: frozenset({BEA}), MONDAY + 2 * WEEK: frozenset({BEA})},
    )
    (wish,) = maker.wishes
    assert (wish.first_day, wish.weeks, wish.author) == (MONDAY + WEEK, 4, "Lou")
    # What was for a day that is over is over.
    assert wish.pins == (WishedTurn("lunge", ANNA), WishedTurn("hang"))
    assert wish.exclusions == (WishedTurn("press", BEA),)
    assert wish.absences == {
        MONDAY + WEEK: frozenset({ANNA, BEA}),
        MONDAY + 2 * WEEK: frozenset({BEA}),
    }


def test_who_was_erased_is_asked_for_no_more(records: SqlRecords) -> None:
    keep(
        records,
        pins=(WishedTurn("lunge", ANNA), WishedTurn("hang")),
        absences={MONDAY + WEEK: frozenset({ANNA})},
    )
    with records.transaction() as tx:
        tx.gymnasts.erase(ANNA)
    maker = Maker()
    Replan(records, maker, OURS)(1, author="Lou", today=MONDAY, weeks=2)
    (wish,) = maker.wishes
    assert wish.pins == (WishedTurn("hang"),)
    assert wish.absences == {}
    assert wish.weeks == 2
