"""Who was erased is met in no plan."""

from hypothesis import given
from hypothesis import strategies as st

from chordline.application.training.gone import named_in, without_gone
from club_stories import MONDAY
from training_stories import planned_session, turn

PLAN = {
    "schema": "chordline.plan/1",
    "weeks": 3,
    "sessions": [
        planned_session(
            MONDAY,
            [turn(0, "lunge", 1, 3), turn(1, "wall", 2)],
            [turn(0, "dish", 2)],
            absent=[4],
            resting=[[5], [1, 3]],
        )
    ],
    "gymnasts": [{"gymnast": 1, "level": 3}, {"gymnast": 2, "level": 1}],
    "asked": {
        "pins": [
            {"exercise": "lunge", "gymnast": 2, "date": None},
            {"exercise": "lunge", "gymnast": None, "date": None},
        ],
        "absences": [{"date": "2025-09-01", "gymnasts": [4, 6]}],
    },
}


def test_everybody_whom_a_plan_names_is_found_and_no_other_number() -> None:
    assert named_in(PLAN) == {1, 2, 3, 4, 5, 6}


def test_a_plan_of_those_who_are_there_is_left_as_it_is() -> None:
    assert without_gone(PLAN, {1, 2, 3, 4, 5, 6}) == PLAN


def test_who_is_gone_leaves_turns_lists_wishes_and_her_own_part() -> None:
    left = without_gone(PLAN, {1, 3, 5, 6})
    (session,) = left["sessions"]
    assert session["rounds"] == [[turn(0, "lunge", 1, 3)], []]
    assert session["absent"] == []
    assert session["resting"] == [[5], [1, 3]]
    assert left["gymnasts"] == [{"gymnast": 1, "level": 3}]
    assert left["asked"]["pins"] == [{"exercise": "lunge", "gymnast": None, "date": None}]
    assert left["asked"]["absences"] == [{"date": "2025-09-01", "gymnasts": [6]}]
    assert left["weeks"] == 3


@given(st.sets(st.integers(1, 6)))
def test_nobody_who_is_gone_is_named_and_nothing_else_is_lost(there: set[int]) -> None:
    left = without_gone(PLAN, there)
    assert named_in(left) == there
    assert without_gone(left, there) == left
