"""The checker finds a fault where there is one: each rule of a good plan is broken once."""

from collections.abc import Callable
from dataclasses import replace
from functools import cache

import pytest

from chordline.core.planning.problem import Exclusion, Pin, Plan, Problem
from chordline.core.planning.solve import plan_greedily
from plan_checker import find_faults
from squads import squad

SQUAD = squad(6, weeks=2, weekdays=(0, 1, 3), stations=3, places=2, rounds=3, signs=0.0)


@cache
def good() -> Plan:
    return plan_greedily(SQUAD)


def exercises(**changed: object) -> Problem:
    return replace(
        SQUAD,
        exercises=tuple(replace(one, **changed) for one in SQUAD.exercises),  # type: ignore[arg-type]
    )


def trainees(**changed: object) -> Problem:
    return replace(
        SQUAD,
        trainees=tuple(replace(one, **changed) for one in SQUAD.trainees),  # type: ignore[arg-type]
    )


def sessions(**changed: object) -> Problem:
    return replace(
        SQUAD,
        sessions=tuple(replace(one, **changed) for one in SQUAD.sessions),  # type: ignore[arg-type]
    )


def rules(**changed: object) -> Problem:
    return replace(SQUAD, rules=replace(SQUAD.rules, **changed))  # type: ignore[arg-type]


def test_the_plan_is_good() -> None:
    assert find_faults(SQUAD, good()) == []


BROKEN: dict[str, Callable[[], Problem]] = {
    "places": lambda: replace(
        SQUAD, stations=tuple(replace(one, places=1) for one in SQUAD.stations)
    ),
    "lacks": lambda: exercises(equipment=frozenset({"trampoline"})),
    "there are 1 rounds": lambda: sessions(rounds=1),
    "takes longer": lambda: sessions(round_min=1.0),
    "spotters": lambda: exercises(spotters=1),
    "too young": lambda: trainees(age_y=3.0),
    "level 2": lambda: exercises(level=2),
    "is barred": lambda: trainees(barred=frozenset(e for o in SQUAD.exercises for e in o.loads)),
    "is too short": lambda: exercises(needs={"neck_flexion_deg": -90.0}),
    "is absent": lambda: sessions(absent=frozenset({1})),
    "min of": lambda: rules(most_weekly_min=dict.fromkeys(SQUAD.rules.most_weekly_min, 1.0)),
    "hard 1 times": lambda: rules(most_weekly_hard=0),
    "hard on days": lambda: exercises(hard=True, group="all"),
    "1 times": lambda: rules(most_repeats=0),
    "is not kept": lambda: replace(
        SQUAD, exclusions=tuple(Exclusion(one.id) for one in SQUAD.exercises)
    ),
    "is not kept in week": lambda: replace(SQUAD, pins=(Pin("nothing", 1),)),
    "worth": lambda: rules(doubt_weight=0.9),
}


@pytest.mark.parametrize("said", BROKEN)
def test_a_broken_rule_is_found(said: str) -> None:
    assert any(said in one for one in find_faults(BROKEN[said](), good()))


def test_turns_that_do_not_fit_together_are_found() -> None:
    first = good().turns[0]
    other = replace(first, exercise=next(o.id for o in SQUAD.exercises if o.id != first.exercise))
    twice = replace(good(), turns=(*good().turns, other))
    said = " ".join(find_faults(SQUAD, twice))
    assert "holds 2 exercises" in said
    assert "two turns in one round" in said


def test_kinds_in_the_wrong_order_are_found() -> None:
    turned = replace(good(), turns=tuple(replace(one, round=2 - one.round) for one in good().turns))
    assert any("out of order" in one for one in find_faults(SQUAD, turned))


def test_a_worth_above_the_bound_is_found() -> None:
    assert any(
        "above its bound" in one for one in find_faults(SQUAD, replace(good(), bound_pct=0.1))
    )
