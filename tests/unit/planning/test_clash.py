from dataclasses import replace

import pytest

from chordline.core.planning.clash import Clash, ClashError
from chordline.core.planning.problem import Exclusion, Pin, Problem, Trainee
from chordline.core.planning.solve import plan_greedily as solve
from squads import RULES, squad

SQUAD = squad(3, weeks=2, stations=2, places=2, rounds=2, signs=0.0)
ON_HANDS = next(one for one in SQUAD.exercises if one.id == "hands_0")


def clashes_of(problem: Problem) -> set[Clash]:
    with pytest.raises(ClashError) as refused:
        solve(problem)
    return set(refused.value.clashes)


def her(**changed: object) -> tuple[Trainee, ...]:
    return (replace(SQUAD.trainees[0], **changed), *SQUAD.trainees[1:])  # type: ignore[arg-type]


def test_a_pin_against_a_reported_sign_names_both() -> None:
    strict = replace(ON_HANDS, needs={})
    problem = replace(
        SQUAD,
        trainees=her(barred=frozenset({"weight_on_hands"})),
        exercises=(strict, *(one for one in SQUAD.exercises if one.id != strict.id)),
        pins=(Pin("neck_0", 1), Pin("hands_0", 1, 1)),
    )
    assert clashes_of(problem) == {
        Clash("pin", wish=1),
        Clash("load", exercise="hands_0", gymnast=1, subject="weight_on_hands"),
    }


def test_of_several_reasons_one_is_enough() -> None:
    problem = replace(
        SQUAD,
        trainees=her(barred=frozenset({"weight_on_hands", "upside_down"}), age_y=5.0),
        pins=(Pin("hands_0", 1),),
    )
    assert len(clashes_of(problem)) == 2


def test_a_pin_against_an_exclusion_names_both() -> None:
    problem = replace(
        SQUAD, pins=(Pin("neck_0", 2, 1),), exclusions=(Exclusion("hands_0"), Exclusion("neck_0"))
    )
    assert clashes_of(problem) == {Clash("pin", wish=0), Clash("exclusion", wish=1)}


def test_a_pin_on_an_evening_when_she_is_away_names_both() -> None:
    away = (replace(SQUAD.sessions[0], absent=frozenset({1})), *SQUAD.sessions[1:])
    problem = replace(SQUAD, sessions=away, pins=(Pin("neck_0", 1, 0),))
    assert clashes_of(problem) == {
        Clash("pin", wish=0),
        Clash("absent", gymnast=1, session=0),
    }


def test_three_pins_in_two_rounds_are_too_many() -> None:
    names = ("neck_0", "pelvis_0", "upper_back_0")
    problem = replace(SQUAD, pins=tuple(Pin(one, 1, 2) for one in names))
    assert clashes_of(problem) == {
        *(Clash("pin", wish=n) for n in range(3)),
        Clash("rounds", session=2),
    }


def test_pins_for_more_stations_than_there_are() -> None:
    one_station = replace(
        SQUAD,
        stations=SQUAD.stations[:1],
        sessions=tuple(replace(one, rounds=1) for one in SQUAD.sessions),
        pins=(Pin("neck_0", 1, 0), Pin("pelvis_0", 2, 0)),
    )
    assert clashes_of(one_station) == {
        Clash("pin", wish=0),
        Clash("pin", wish=1),
        Clash("places", session=0),
    }


def test_equipment_that_no_station_has() -> None:
    bare = tuple(replace(one, equipment=frozenset()) for one in SQUAD.stations)
    geared = next(one for one in SQUAD.exercises if one.equipment and not one.needs)
    problem = replace(
        SQUAD,
        stations=bare,
        trainees=her(level=3, age_y=15.0),
        pins=(Pin(geared.id, 1),),
    )
    assert clashes_of(problem) == {Clash("pin", wish=0), Clash("equipment", exercise=geared.id)}


def test_a_spotter_who_is_not_there() -> None:
    spotted = replace(ON_HANDS, spotters=3, needs={})
    problem = replace(
        SQUAD,
        exercises=(spotted, *(one for one in SQUAD.exercises if one.id != spotted.id)),
        pins=(Pin("hands_0", 1, 0),),
    )
    assert clashes_of(problem) == {Clash("pin", wish=0), Clash("coaches", session=0)}


def test_hard_work_on_consecutive_days() -> None:
    days = squad(1, weeks=1, weekdays=(0, 1), stations=1, places=1, rounds=2, signs=0.0)
    problem = replace(days, pins=(Pin("front_chain_0", 1, 0), Pin("front_chain_2", 1, 1)))
    assert clashes_of(problem) == {
        Clash("pin", wish=0),
        Clash("pin", wish=1),
        Clash("hard_days", gymnast=1, subject="front_chain"),
    }


def test_more_minutes_than_a_week_should_hold() -> None:
    rules = replace(RULES, most_weekly_min={**RULES.most_weekly_min, "neck": 6.0})
    problem = replace(SQUAD, rules=rules, pins=(Pin("neck_0", 1, 0), Pin("neck_0", 1, 1)))
    assert clashes_of(problem) == {
        Clash("pin", wish=0),
        Clash("pin", wish=1),
        Clash("weekly_minutes", gymnast=1, subject="neck"),
    }


def test_a_clash_needs_every_one_of_its_parts() -> None:
    names = ("neck_0", "pelvis_0", "upper_back_0")
    pins = tuple(Pin(one, 1, 2) for one in names)
    for left_out in range(3):
        kept = tuple(one for n, one in enumerate(pins) if n != left_out)
        assert solve(replace(SQUAD, pins=kept)) is not None
