"""What the records of training promise, in SQLite and in PostgreSQL."""

import json
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from threading import Barrier
from typing import Any

import pytest

from chordline.adapters.db.records import SqlRecords
from chordline.adapters.db.schema import METADATA
from chordline.application.club.records import Club, GymnastRecord, NewGymnast
from chordline.application.training.defaults import default_training
from chordline.application.training.records import (
    GroupTraining,
    StaleTrainingError,
    StationRecord,
)
from chordline.errors import ImpossibleRecordError, NotThereError
from club_stories import MONDAY, TUESDAY, found_club

Reopen = Callable[[], SqlRecords]

STATIONS = (StationRecord("Wall", 3, ("wall", "mat")), StationRecord("Floor", 5))


def found_group(records: SqlRecords, *names: str) -> tuple[Club, int, list[GymnastRecord]]:
    club, girls = found_club(records, *names)
    with records.transaction() as tx:
        group = tx.clubs.add_group(club.id, "Young ones")
        tx.clubs.put_in_group(group.id, [one.id for one in girls])
    return club, group.id, girls


def trained(group_id: int, **said: Any) -> GroupTraining:
    ours = replace(default_training(group_id), stations=STATIONS)
    return replace(ours, weekdays=(1, 3), starts_at=time(16, 30), minutes=75, coaches=1, **said)


def evening(*gymnasts: int, exercise: str = "wall-lean") -> dict[str, Any]:
    """What a session holds, as far as the records look into it."""
    turn = {"station": 0, "exercise": exercise, "gymnasts": list(gymnasts)}
    return {
        "date": MONDAY.isoformat(),
        "rounds": [[turn], []],
        "resting": [[], list(gymnasts)],
        "absent": list(gymnasts),
    }


def test_a_group_that_nobody_set_up_trains_as_we_assume_and_says_so(records: SqlRecords):
    _, group_id, _ = found_group(records)
    with records.reading() as tx:
        said = tx.training.group(group_id)
        assert said == default_training(group_id)
        assert said.version == 0
        with pytest.raises(NotThereError, match="group 99"):
            tx.training.group(99)


def test_how_a_group_trains_is_there_tomorrow_as_it_was_said(
    records: SqlRecords, open_again: Reopen
):
    _, group_id, _ = found_group(records)
    with records.transaction() as tx:
        saved = tx.training.save_group(trained(group_id))
    assert saved == trained(group_id, version=1)
    with open_again().reading() as tx:
        assert tx.training.group(group_id) == saved
    with records.transaction() as tx:
        fewer = replace(saved, stations=STATIONS[:1], starts_at=None)
        assert tx.training.save_group(fewer) == replace(fewer, version=2)


def test_two_forms_of_a_group_do_not_overwrite_each_other(records: SqlRecords):
    _, group_id, _ = found_group(records)
    start = Barrier(4)

    def send(number: int) -> tuple[bool, object]:
        start.wait()
        try:
            with records.transaction() as tx:
                said = replace(trained(group_id), minutes=60 + number)
                return True, tx.training.save_group(said)
        except StaleTrainingError as refused:
            return False, refused.current

    with ThreadPoolExecutor(4) as pool:
        sent = list(pool.map(send, range(4)))
    assert sorted(saved for saved, _ in sent) == [False, False, False, True]
    with records.reading() as tx:
        # Who came second is shown what stands now.
        assert {shown for _, shown in sent} == {tx.training.group(group_id)}


@pytest.mark.parametrize(
    ("wrong", "sentence"),
    [
        ({"minutes": 0}, "1 to 480 minutes"),
        ({"coaches": -1}, "0 to 50 coaches"),
        ({"stations": (StationRecord("Wall", 0),)}, "1 to 60 places"),
        ({"stations": (StationRecord("", 1),)}, "needs a name"),
    ],
)
def test_what_cannot_be_is_told_and_nothing_of_it_is_kept(
    records: SqlRecords, wrong: dict[str, Any], sentence: str
):
    _, group_id, _ = found_group(records)
    with pytest.raises(ImpossibleRecordError, match=sentence), records.transaction() as tx:
        tx.training.save_group(replace(trained(group_id), **wrong))
    with records.reading() as tx:
        assert tx.training.group(group_id).version == 0


def test_the_level_that_was_said_last_holds(records: SqlRecords):
    _, _, (anna, bea) = found_group(records, "Anna", "Bea")
    with records.transaction() as tx:
        tx.training.say_level(anna.id, 1)
        tx.training.say_level(anna.id, 3)
        assert tx.training.levels([anna.id, bea.id]) == {anna.id: 3}
        with pytest.raises(NotThereError):
            tx.training.say_level(999, 2)


def test_an_earlier_plan_holds_until_the_day_before_a_later_one(records: SqlRecords):
    _, group_id, (anna,) = found_group(records, "Anna")
    with records.transaction() as tx:
        record = {"sessions": [evening(anna.id)], "wish": {"weeks": 4}}
        first = tx.training.add_plan(group_id, first_day=MONDAY, record=record, author="Kim")
        later = tx.training.add_plan(
            group_id, first_day=MONDAY + timedelta(days=7), record=record, author="Lou"
        )
        assert (first.record, first.author) == (record, "Kim")
        assert first.made_at.tzinfo is UTC
        assert tx.training.plan(first.id) == first
        assert tx.training.plans(group_id) == (later, first)
        assert tx.training.plans(group_id, limit=1) == (later,)
        assert tx.training.plan_holding(group_id, MONDAY - timedelta(days=1)) is None
        assert tx.training.plan_holding(group_id, MONDAY + timedelta(days=6)) == first
        assert tx.training.plan_holding(group_id, MONDAY + timedelta(days=7)) == later
        again = tx.training.add_plan(group_id, first_day=MONDAY, record=record, author="Kim")
        assert tx.training.plan_holding(group_id, MONDAY + timedelta(days=7)) == again
        with pytest.raises(NotThereError, match="plan 99"):
            tx.training.plan(99)


def test_a_plan_keeps_its_keys_in_order(records: SqlRecords):
    _, group_id, _ = found_group(records)
    record = {"z": 1, "a": {"y": 2, "b": [3, None, "x"]}}
    with records.transaction() as tx:
        kept = tx.training.add_plan(group_id, first_day=MONDAY, record=record, author="Kim")
    assert json.dumps(kept.record) == json.dumps(record)


def test_a_group_has_one_session_a_day_however_many_begin_it(records: SqlRecords):
    _, group_id, (anna,) = found_group(records, "Anna")
    start = Barrier(4)

    def begin(number: int) -> int:
        start.wait()
        with records.transaction() as tx:
            record = evening(anna.id, exercise=f"from tablet {number}")
            return tx.training.session_on(group_id, MONDAY, plan_id=None, record=record).id

    with ThreadPoolExecutor(4) as pool:
        assert len(set(pool.map(begin, range(4)))) == 1
    with records.reading() as tx:
        held = tx.training.session_held(group_id, MONDAY)
        assert held is not None
        assert (held.state, held.version, held.plan_id) == ("planned", 1, None)
        assert tx.training.session_held(group_id, TUESDAY) is None


def test_sessions_are_found_by_their_days(records: SqlRecords):
    _, group_id, _ = found_group(records)
    days = [MONDAY + timedelta(days=n) for n in (4, 0, 2)]
    with records.transaction() as tx:
        for day in days:
            tx.training.session_on(group_id, day, plan_id=None, record=evening())

        def held(**between: date) -> list[date]:
            return [one.held_on for one in tx.training.sessions(group_id, **between)]

        assert held() == sorted(days)
        assert held(first=days[2]) == [days[2], days[0]]
        assert held(first=days[2], last=days[2]) == [days[2]]


def test_a_session_that_was_changed_meanwhile_is_not_overwritten(records: SqlRecords):
    _, group_id, (anna, bea) = found_group(records, "Anna", "Bea")
    with records.transaction() as tx:
        begun = tx.training.session_on(group_id, MONDAY, plan_id=None, record=evening(anna.id))
    start = Barrier(4)

    def change(number: int) -> tuple[bool, Any]:
        start.wait()
        try:
            with records.transaction() as tx:
                record = evening(bea.id, exercise=f"from tablet {number}")
                return True, tx.training.change_session(
                    begun.id, version=1, record=record, state="running"
                )
        except StaleTrainingError as refused:
            return False, refused.current

    with ThreadPoolExecutor(4) as pool:
        sent = list(pool.map(change, range(4)))
    assert sum(changed for changed, _ in sent) == 1
    with records.reading() as tx:
        stands = tx.training.session(begun.id)
    assert (stands.state, stands.version) == ("running", 2)
    assert [shown for _, shown in sent] == [stands] * 4


def test_a_session_stays_with_its_plan_until_another_is_named(records: SqlRecords):
    _, group_id, (anna,) = found_group(records, "Anna")
    with records.transaction() as tx:
        first, second = (
            tx.training.add_plan(group_id, first_day=MONDAY, record={"sessions": []}, author="Kim")
            for _ in range(2)
        )
        held = tx.training.session_on(group_id, MONDAY, plan_id=first.id, record=evening(anna.id))
        kept = tx.training.change_session(held.id, version=1, record=held.record, state="running")
        assert kept.plan_id == first.id
        moved = tx.training.change_session(
            held.id, version=2, record=held.record, state="planned", plan_id=second.id
        )
        assert moved.plan_id == second.id


def test_who_came_is_kept_and_can_be_said_otherwise(records: SqlRecords):
    _, group_id, (anna, bea) = found_group(records, "Anna", "Bea")
    with records.transaction() as tx:
        held = tx.training.session_on(group_id, MONDAY, plan_id=None, record=evening())
        assert tx.training.attendance(held.id) == {}
        tx.training.mark_present(held.id, bea.id, False)
        tx.training.mark_present(held.id, anna.id, True)
        tx.training.mark_present(held.id, bea.id, True)
        tx.training.mark_present(held.id, anna.id, False)
        assert tx.training.attendance(held.id) == {anna.id: False, bea.id: True}
        with pytest.raises(NotThereError, match="session 99"):
            tx.training.mark_present(99, anna.id, True)


def test_what_was_done_is_kept_once_and_the_later_word_holds(records: SqlRecords):
    _, group_id, (anna, bea) = found_group(records, "Anna", "Bea")
    with records.transaction() as tx:
        monday, tuesday = (
            tx.training.session_on(group_id, day, plan_id=None, record=evening())
            for day in (MONDAY, TUESDAY)
        )

        def done(session_id: int, girl: GymnastRecord, exercise: str, share: float) -> None:
            tx.training.mark_done(
                session_id, girl.id, exercise=exercise, share=share, minutes=6.5, author="Kim"
            )

        done(tuesday.id, anna, "wall-lean", 1.0)
        done(monday.id, anna, "wall-lean", 1.0)
        done(monday.id, anna, "wall-lean", 0.5)
        done(monday.id, bea, "hollow", 0.0)
        (hers, other) = tx.training.work_of_session(monday.id)
        assert (hers.gymnast_id, hers.exercise, hers.share) == (anna.id, "wall-lean", 0.5)
        assert (hers.held_on, hers.minutes, hers.author) == (MONDAY, 6.5, "Kim")
        assert other.share == 0.0
        of_anna = tx.training.work([anna.id])
        assert [one.held_on for one in of_anna] == [MONDAY, TUESDAY]
        assert tx.training.work([anna.id], first=TUESDAY) == of_anna[1:]
        assert tx.training.work([anna.id], last=MONDAY) == of_anna[:1]
        assert tx.training.work([]) == ()
        with pytest.raises(NotThereError):
            done(99, anna, "wall-lean", 1.0)
    with pytest.raises(ImpossibleRecordError, match="between nothing"), records.transaction() as tx:
        done(monday.id, anna, "wall-lean", 1.5)


def test_a_skill_is_hers_from_a_day_until_it_is_taken_back(records: SqlRecords):
    _, _, (anna, bea) = found_group(records, "Anna", "Bea")
    with records.transaction() as tx:
        for rung, day in (("tripod", TUESDAY), ("kick-up", MONDAY), ("tripod", MONDAY)):
            tx.training.say_skill(anna.id, rung, reached_on=day, author="Kim")
        found = tx.training.skills([anna.id, bea.id])
        assert [(one.rung, one.reached_on) for one in found] == [
            ("kick-up", MONDAY),
            ("tripod", MONDAY),
        ]
        tx.training.take_back_skill(anna.id, "tripod")
        assert [one.rung for one in tx.training.skills([anna.id])] == ["kick-up"]


def test_one_who_only_reads_begins_no_session(records: SqlRecords):
    _, group_id, _ = found_group(records)
    with records.reading() as tx:
        assert tx.training.session_held(group_id, MONDAY) is None
        assert tx.training.group(group_id).version == 0


def _fill(records: SqlRecords, group_id: int, *girls: GymnastRecord) -> tuple[int, int]:
    """Write into every table of training; return the ids of plan and session."""
    ids = [one.id for one in girls]
    with records.transaction() as tx:
        training = tx.training
        training.save_group(trained(group_id))
        plan = training.add_plan(
            group_id,
            first_day=MONDAY,
            record={
                "sessions": [evening(*ids), evening(ids[0])],
                "gymnasts": [{"gymnast": one, "why": []} for one in ids],
                "wish": {"pins": [{"gymnast": one, "exercise": "x"} for one in (*ids, None)]},
            },
            author="Kim",
        )
        held = training.session_on(group_id, MONDAY, plan_id=plan.id, record=evening(*ids))
        for one in ids:
            training.say_level(one, 2)
            training.mark_present(held.id, one, True)
            training.mark_done(
                held.id, one, exercise="hollow", share=1.0, minutes=6.0, author="Kim"
            )
            training.say_skill(one, "tripod", reached_on=MONDAY, author="Kim")
    return plan.id, held.id


def _rows_about(records: SqlRecords, gymnast_id: int) -> list[str]:
    """Return the tables of the whole database with a row of a gymnast."""
    with records.reading() as tx:
        rows = tx.gymnasts._session
        return [
            table.name
            for table in METADATA.sorted_tables
            if "gymnast_id" in table.c
            and rows.rows(table.select().where(table.c.gymnast_id == gymnast_id))
        ]


def test_an_erased_gymnast_is_in_no_table_of_training_and_no_plan_names_her(records: SqlRecords):
    club, group_id, (anna, bea) = found_group(records, "Anna", "Bea")
    plan_id, session_id = _fill(records, group_id, anna, bea)
    assert {"attendance", "work_done", "skill", "training_level"} <= set(
        _rows_about(records, anna.id)
    )
    with records.transaction() as tx:
        tx.gymnasts.erase(anna.id)
    assert _rows_about(records, anna.id) == []
    with records.reading() as tx:
        plan = tx.training.plan(plan_id).record
        first, second = plan["sessions"]
        assert first == evening(bea.id)
        # A turn without anybody is none.
        assert second == {**evening(), "rounds": [[], []]}
        assert plan["gymnasts"] == [{"gymnast": bea.id, "why": []}]
        assert [one["gymnast"] for one in plan["wish"]["pins"]] == [bea.id, None]
        assert tx.training.plans(group_id)[0].record == plan
        assert tx.training.session(session_id).record == evening(bea.id)
        assert tx.training.sessions(group_id)[0].record == evening(bea.id)
        assert list(tx.training.attendance(session_id)) == [bea.id]
    with records.transaction() as tx:
        # Whoever comes after her is not met in her place.
        new = tx.gymnasts.add(club.id, NewGymnast("Cleo"))
        assert new.id not in (anna.id, bea.id)
        assert tx.training.session(session_id).record == evening(bea.id)


def test_who_is_put_away_stays_in_what_was_done(records: SqlRecords):
    _, group_id, (anna, bea) = found_group(records, "Anna", "Bea")
    plan_id, session_id = _fill(records, group_id, anna, bea)
    with records.transaction() as tx:
        tx.gymnasts.archive(anna.id)
        assert tx.training.session(session_id).record == evening(anna.id, bea.id)
        assert len(tx.training.work([anna.id])) == 1
        assert tx.training.plan(plan_id).record["sessions"][0] == evening(anna.id, bea.id)


def test_a_removed_group_takes_its_training_along_and_leaves_the_gymnasts(records: SqlRecords):
    _, group_id, (anna,) = found_group(records, "Anna")
    plan_id, session_id = _fill(records, group_id, anna)
    with records.transaction() as tx:
        tx.clubs.remove_group(group_id)
        for gone in (
            lambda: tx.training.group(group_id),
            lambda: tx.training.plan(plan_id),
            lambda: tx.training.session(session_id),
        ):
            with pytest.raises(NotThereError):
                gone()
        assert tx.training.work([anna.id]) == ()
        assert tx.training.levels([anna.id]) == {anna.id: 2}
        assert len(tx.training.skills([anna.id])) == 1


def test_after_a_mistake_nothing_of_an_evening_is_kept(records: SqlRecords):
    _, group_id, (anna,) = found_group(records, "Anna")

    def begin_and_stumble() -> None:
        with records.transaction() as tx:
            held = tx.training.session_on(group_id, MONDAY, plan_id=None, record=evening(anna.id))
            tx.training.mark_present(held.id, anna.id, True)
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        begin_and_stumble()
    with records.reading() as tx:
        assert tx.training.sessions(group_id) == ()


def test_the_moment_of_a_plan_is_kept_in_utc(records: SqlRecords):
    _, group_id, _ = found_group(records)
    before = datetime.now(UTC)
    with records.transaction() as tx:
        made = tx.training.add_plan(group_id, first_day=MONDAY, record={}, author="Kim").made_at
    assert before <= made <= datetime.now(UTC)
