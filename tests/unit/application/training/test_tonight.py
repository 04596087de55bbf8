"""An evening from who comes in to what was done."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path

import pytest

from chordline.adapters.db.records import SqlRecords
from chordline.application.club.records import GymnastRecord
from chordline.application.training.done_work import KeepDone
from chordline.application.training.records import StaleTrainingError
from chordline.application.training.tonight import Evening, Tonight
from chordline.errors import NotThereError, RefusedInputError
from club_stories import MONDAY, TUESDAY
from training_stories import (
    CATALOGUE,
    exercise,
    keep_plan,
    open_group,
    planned_session,
    trained_with,
    turn,
)

WEDNESDAY = MONDAY + timedelta(days=2)
TRAINING = trained_with(
    {
        "lunge": exercise(),
        "wall": exercise("shoulder_push_pct", loads=("weight_on_hands",)),
        "dish": exercise("pelvic_tuck_deg", minutes=4.0),
        "plank": exercise("front_chain_s", hard=True, group="front_chain"),
        "late": exercise(level=2),
    }
)


@dataclass
class Gym:
    """A group with a plan of one evening."""

    records: SqlRecords
    group_id: int
    anna: GymnastRecord
    bea: GymnastRecord
    cleo: GymnastRecord

    def __post_init__(self) -> None:
        self.tonight = Tonight(self.records, CATALOGUE, TRAINING)
        self.done = KeepDone(self.records, TRAINING)

    def open(self, day: date = MONDAY) -> Evening:
        return self.tonight.open(self.group_id, day)

    def plan(self, *more: dict) -> None:
        anna, bea, cleo = self.anna.id, self.bea.id, self.cleo.id
        keep_plan(
            self.records,
            self.group_id,
            planned_session(
                MONDAY,
                [turn(0, "lunge", anna, bea)],
                [turn(0, "dish", bea), turn(1, "wall", anna)],
                absent=[cleo],
            ),
            *more,
        )

    def note(self, girl: GymnastRecord, flag: str) -> int:
        with self.records.transaction() as tx:
            return tx.gymnasts.add_note(
                girl.id, noted_on=MONDAY, kind="flag", flag=flag, text="", author="Kim"
            ).id

    def work(self) -> dict[tuple[int, str], tuple[float, float]]:
        with self.records.reading() as tx:
            return {
                (one.gymnast_id, one.exercise): (one.share, one.minutes)
                for one in tx.training.work([self.anna.id, self.bea.id, self.cleo.id])
            }


@pytest.fixture
def gym(tmp_path: Path) -> Iterator[Gym]:
    records, group_id, girls = open_group(tmp_path, "Anna", "Bea", "Cleo")
    made = Gym(records, group_id, *girls)
    made.plan()
    yield made
    records.close()


def at(evening: Evening, number: int) -> dict[str, list[int]]:
    return {one["exercise"]: one["gymnasts"] for one in evening.session.record["rounds"][number]}


def test_an_evening_begins_as_it_was_planned(gym: Gym) -> None:
    evening = gym.open()
    assert evening.present == {gym.anna.id, gym.bea.id}
    assert at(evening, 1) == {"dish": [gym.bea.id], "wall": [gym.anna.id]}
    assert evening.pattern_of is None
    assert evening.session.record["absent"] == [gym.cleo.id]
    assert evening.session.record["stations"][1]["name"] == "Wall"
    assert gym.open().session == evening.session
    assert gym.tonight.look(gym.group_id, MONDAY) == evening
    assert gym.tonight.look(gym.group_id, TUESDAY) is None


def test_a_day_without_a_session_takes_the_turns_of_the_nearest_and_says_so(gym: Gym) -> None:
    evening = gym.open(TUESDAY)
    assert evening.pattern_of == MONDAY
    assert evening.session.record["date"] == "2025-09-02"
    # Who was to be away on Monday is not away on Tuesday.
    assert evening.present == {gym.anna.id, gym.bea.id, gym.cleo.id}
    later = planned_session(MONDAY + timedelta(days=9), [turn(2, "lunge", gym.bea.id)])
    gym.plan(later)
    assert gym.open(MONDAY + timedelta(days=8)).pattern_of == MONDAY + timedelta(days=9)


def test_without_a_plan_the_evening_says_what_to_do(gym: Gym) -> None:
    with pytest.raises(RefusedInputError, match="no plan of Level 3 holds on 31 Aug 2025"):
        gym.open(MONDAY - timedelta(days=1))
    with pytest.raises(NotThereError):
        gym.tonight.open(99, MONDAY)


def test_who_does_not_come_leaves_and_who_comes_late_finds_a_place(gym: Gym) -> None:
    session_id = gym.open().session.id
    evening = gym.tonight.mark(session_id, {gym.anna.id: False})
    assert at(evening, 0) == {"lunge": [gym.bea.id]}
    assert at(evening, 1) == {"dish": [gym.bea.id]}
    evening = gym.tonight.mark(session_id, {gym.cleo.id: True})
    assert at(evening, 0) == {"lunge": [gym.bea.id, gym.cleo.id]}
    assert at(evening, 1) == {"dish": [gym.bea.id], "wall": [gym.cleo.id]}
    evening = gym.tonight.mark(session_id, {gym.anna.id: True, gym.cleo.id: False})
    assert at(evening, 1) == {"dish": [gym.bea.id], "wall": [gym.anna.id]}
    assert evening.marked == {gym.anna.id: True, gym.cleo.id: False}


def test_a_sign_reported_since_keeps_her_off_what_it_bars(gym: Gym) -> None:
    gym.note(gym.cleo, "wrist_pain")
    note_id = gym.note(gym.anna, "wrist_pain")
    session_id = gym.open().session.id
    evening = gym.tonight.mark(session_id, {gym.cleo.id: True})
    assert "wall" not in at(evening, 1)
    assert evening.session.record["held_back"] == [{"gymnast": gym.anna.id, "exercise": "wall"}]
    with gym.records.transaction() as tx:
        tx.gymnasts.close_note(note_id, TUESDAY)
    assert at(gym.open(), 1)["wall"] == [gym.anna.id]


def test_a_late_comer_does_nothing_that_is_beyond_her(gym: Gym) -> None:
    gym.plan(planned_session(WEDNESDAY, [turn(0, "late", gym.anna.id)]))
    session_id = gym.open(WEDNESDAY).session.id
    evening = gym.tonight.mark(session_id, {gym.bea.id: False})
    assert evening.session.record["resting"][0] == [gym.cleo.id]
    with gym.records.transaction() as tx:
        tx.training.say_level(gym.cleo.id, 2)
    assert at(gym.open(WEDNESDAY), 0) == {"late": [gym.anna.id, gym.cleo.id]}


def test_hard_work_of_yesterday_is_not_done_again_unplanned(gym: Gym) -> None:
    gym.plan(planned_session(TUESDAY, [turn(1, "plank", gym.anna.id)], absent=[gym.cleo.id]))
    monday = gym.open().session.id
    gym.done.mark(monday, gym.cleo.id, exercise="plank", share=0.5, author="Kim")
    session_id = gym.open(TUESDAY).session.id
    evening = gym.tonight.mark(session_id, {gym.cleo.id: True, gym.bea.id: False})
    assert at(evening, 0)["plank"] == [gym.anna.id]
    gym.done.mark(monday, gym.cleo.id, exercise="plank", share=0.0, author="Kim")
    assert at(gym.open(TUESDAY), 0)["plank"] == [gym.anna.id, gym.cleo.id]


def test_what_has_begun_is_not_dealt_again(gym: Gym) -> None:
    session_id = gym.open().session.id
    evening = gym.tonight.mark(session_id, {gym.anna.id: False}, begun=1)
    assert evening.session.state == "running"
    assert at(evening, 0) == {"lunge": [gym.anna.id, gym.bea.id]}
    assert at(evening, 1) == {"dish": [gym.bea.id]}
    evening = gym.tonight.mark(session_id, {gym.cleo.id: True})
    assert at(evening, 0) == {"lunge": [gym.anna.id, gym.bea.id]}
    assert at(evening, 1) == {"dish": [gym.bea.id], "wall": [gym.cleo.id]}
    evening = gym.tonight.mark(session_id, {}, begun=0)
    assert evening.session.state == "planned"
    assert at(evening, 0) == {"lunge": [gym.bea.id, gym.cleo.id]}
    for wrong in (-1, 3):
        with pytest.raises(RefusedInputError, match="has 2 rounds"):
            gym.tonight.mark(session_id, {}, begun=wrong)


def test_a_plan_made_since_is_kept_to_unless_a_round_has_begun(gym: Gym) -> None:
    first = gym.open()
    gym.tonight.mark(first.session.id, {gym.cleo.id: True})
    keep_plan(gym.records, gym.group_id, planned_session(MONDAY, [turn(1, "dish", gym.anna.id)]))
    seen = gym.tonight.look(gym.group_id, MONDAY)
    assert seen is not None
    assert seen.planned_anew
    anew = gym.open()
    assert not anew.planned_anew
    assert anew.session.plan_id != first.session.plan_id
    assert [list(at(anew, 0)), len(anew.session.record["rounds"])] == [["dish"], 1]
    # Who was marked stays marked.
    assert anew.marked == {gym.cleo.id: True}
    gym.tonight.mark(anew.session.id, {}, begun=1)
    gym.plan()
    kept = gym.open()
    assert kept.planned_anew
    assert list(at(kept, 0)) == ["dish"]


def test_two_tablets_do_not_end_it_twice(gym: Gym) -> None:
    seen = gym.open().session
    gym.tonight.mark(seen.id, {gym.anna.id: False})
    with pytest.raises(StaleTrainingError):
        gym.tonight.end(seen.id, version=seen.version, author="Kim")


def test_an_ended_evening_keeps_that_everybody_present_did_everything(gym: Gym) -> None:
    session = gym.open().session
    gym.done.mark(session.id, gym.bea.id, exercise="dish", share=0.5, author="Kim")
    session = gym.tonight.mark(session.id, {gym.anna.id: True}).session
    ended = gym.tonight.end(session.id, version=session.version, author="Kim").session
    assert ended.state == "ended"
    assert gym.work() == {
        (gym.anna.id, "lunge"): (1.0, 6.0),
        (gym.anna.id, "wall"): (1.0, 6.0),
        (gym.bea.id, "lunge"): (1.0, 6.0),
        (gym.bea.id, "dish"): (0.5, 4.0),
    }
    again = gym.tonight.end(session.id, version=session.version, author="Kim").session
    assert again == ended
    with pytest.raises(RefusedInputError, match="has ended"):
        gym.tonight.mark(session.id, {gym.cleo.id: True})
    gym.done.mark(session.id, gym.anna.id, exercise="wall", share=0.0, author="Kim")
    assert gym.work()[gym.anna.id, "wall"] == (0.0, 6.0)


def test_rounds_that_were_not_reached_were_not_done(gym: Gym) -> None:
    session = gym.open().session
    gym.tonight.end(session.id, version=session.version, author="Kim", rounds=1)
    assert set(gym.work()) == {(gym.anna.id, "lunge"), (gym.bea.id, "lunge")}


def test_work_that_was_not_planned_counts_and_an_unknown_one_is_refused(gym: Gym) -> None:
    session = gym.open().session
    gym.done.mark(session.id, gym.cleo.id, exercise="plank", share=1.0, author="Kim")
    assert gym.work() == {(gym.cleo.id, "plank"): (1.0, 6.0)}
    with pytest.raises(RefusedInputError, match="no exercise is called 'juggling'"):
        gym.done.mark(session.id, gym.cleo.id, exercise="juggling", share=1.0, author="Kim")


def test_an_exercise_that_left_the_catalogue_is_still_done(gym: Gym) -> None:
    gym.plan(planned_session(WEDNESDAY, [turn(0, "gone", gym.anna.id, gym.bea.id)]))
    gym.note(gym.bea, "wrist_pain")
    session = gym.open(WEDNESDAY).session
    # What it loads is not known any more: not for whom a sign bars something.
    assert session.record["rounds"][0] == [turn(0, "gone", gym.anna.id)]
    gym.tonight.end(session.id, version=session.version, author="Kim")
    assert gym.work() == {(gym.anna.id, "gone"): (1.0, 8.0)}


def test_who_was_erased_is_in_no_evening(gym: Gym) -> None:
    gym.open()
    with gym.records.transaction() as tx:
        tx.gymnasts.erase(gym.anna.id)
    evening = gym.open()
    assert at(evening, 1) == {"dish": [gym.bea.id]}
    assert gym.anna.id not in evening.present
