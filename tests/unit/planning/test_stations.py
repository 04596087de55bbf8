"""A turn stands where least is idle; nothing else of the plan changes."""

from dataclasses import replace

from chordline.core.estimate import Estimate
from chordline.core.planning.problem import Exercise, Problem, Rules, Session, Station, Turn
from chordline.core.planning.stations import settle_stations


def exercise(name: str, *equipment: str) -> Exercise:
    return Exercise(
        id=name,
        kind="shape",
        minutes=5.0,
        group="pelvis",
        hard=False,
        feeds={"pelvic_tuck_deg": Estimate(1.0, 0.5)},
        weekly_dose_min=10.0,
        equipment=frozenset(equipment),
    )


PROBLEM = Problem(
    trainees=(),
    exercises=(exercise("floor", "mat"), exercise("hang", "bar"), exercise("bare")),
    stations=(
        Station("Bar", 4, frozenset({"bar", "mat"})),
        Station("Mats", 2, frozenset({"mat"})),
        Station("Corner", 4, frozenset()),
    ),
    sessions=(Session(day=0, week=0, rounds=1, round_min=8.0, coaches=1),),
    rules=Rules({}, {}, 3, 1),
)


def test_a_floor_exercise_goes_to_the_mats_and_leaves_the_bar() -> None:
    turns = (Turn(0, 0, 0, "floor", (1, 2)),)
    assert settle_stations(PROBLEM, turns) == (replace(turns[0], station=1),)


def test_who_fills_a_station_stays_where_there_is_room() -> None:
    turns = (Turn(0, 0, 0, "floor", (1, 2, 3)),)
    assert settle_stations(PROBLEM, turns) == turns


def test_a_round_is_dealt_together_and_every_turn_keeps_its_people() -> None:
    turns = (
        Turn(0, 0, 0, "floor", (1,)),
        Turn(0, 0, 1, "bare", (2,)),
    )
    settled = settle_stations(PROBLEM, turns)
    assert {(one.exercise, one.gymnasts, one.station) for one in settled} == {
        ("floor", (1,), 1),
        ("bare", (2,), 2),
    }


def test_what_needs_the_bar_keeps_it() -> None:
    turns = (Turn(0, 0, 0, "hang", (1,)), Turn(0, 0, 1, "floor", (2,)))
    assert settle_stations(PROBLEM, turns) == turns
