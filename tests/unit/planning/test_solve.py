from dataclasses import replace
from functools import partial

import pytest

from chordline.core.planning.clash import EmptyProblemError
from chordline.core.planning.problem import Exclusion, Pin, Problem, Session
from chordline.core.planning.solve import Progress, plan_greedily
from chordline.core.planning.solve import solve as solve_long
from chordline.errors import RefusedInputError
from plan_checker import find_faults
from squads import squad

SMALL = squad(5, weeks=5, weekdays=(0, 1, 6), stations=3, places=2, rounds=3, seed=4)
#: Enough to better the greedy plan of a small squad.
solve = partial(solve_long, block_work_s=0.05)


def test_a_plan_keeps_every_rule_and_betters_the_greedy_one() -> None:
    plan, greedy = solve(SMALL), plan_greedily(SMALL)
    assert plan is not None
    assert find_faults(SMALL, plan) == []
    assert find_faults(SMALL, greedy) == []
    assert plan.straightening_pct > greedy.straightening_pct * 1.01


@pytest.mark.slow
def test_the_same_problem_gives_the_same_plan() -> None:
    assert solve(SMALL) == solve(SMALL)


def test_weeks_of_a_block_have_the_same_pattern() -> None:
    plan = solve(SMALL)
    assert plan is not None

    def of_week(week: int) -> set[tuple[object, ...]]:
        return {
            (one.session % 3, one.round, one.station, one.exercise, one.gymnasts)
            for one in plan.turns
            if one.session // 3 == week
        }

    assert of_week(0) == of_week(3)
    assert of_week(0) != of_week(4)


def test_who_is_absent_has_no_turn_that_evening_and_all_others_keep_theirs() -> None:
    away = tuple(
        replace(one, absent=frozenset({2})) if i == 4 else one
        for i, one in enumerate(SMALL.sessions)
    )
    some = replace(SMALL, sessions=away)
    plan = solve(some)
    assert plan is not None
    assert find_faults(some, plan) == []

    def evening(session: int) -> set[tuple[int, str, int]]:
        return {
            (one.round, one.exercise, gymnast)
            for one in plan.turns
            if one.session == session
            for gymnast in one.gymnasts
        }

    assert evening(4) == {one for one in evening(1) if one[2] != 2}


def test_an_evening_without_anybody_has_no_open_station() -> None:
    away = tuple(
        replace(one, absent=frozenset(range(1, 6))) if i == 4 else one
        for i, one in enumerate(SMALL.sessions)
    )
    some = replace(SMALL, sessions=away)
    plan = solve(some)
    assert plan is not None
    assert [one for one in plan.turns if one.session == 4] == []
    assert find_faults(some, plan) == []


@pytest.mark.slow
def test_pins_and_exclusions_are_kept() -> None:
    asked = replace(
        SMALL,
        pins=(Pin("neck_0", 1, 2), Pin("pelvis_0", 3), Pin("upper_back_0", None, 7)),
        exclusions=(Exclusion("front_chain_0"), Exclusion("hip_flexors_0", 2, 4)),
    )
    plan = solve(asked)
    assert plan is not None
    assert find_faults(asked, plan) == []
    together = {
        g for t in plan.turns if (t.session, t.exercise) == (7, "upper_back_0") for g in t.gymnasts
    }
    assert together == {1, 2, 3, 4, 5}


def test_a_pin_just_after_a_block_keeps_the_day_before_easy() -> None:
    days = squad(2, weeks=5, weekdays=(0, 6), stations=2, places=2, rounds=3)
    asked = replace(days, pins=(Pin("back_chain_0", 1, 8), Pin("front_chain_0", 2, 8)))
    plan = solve(asked)
    assert plan is not None
    assert find_faults(asked, plan) == []


def test_solving_tells_how_far_it_is() -> None:
    told: list[Progress] = []
    plan = solve(SMALL, on_progress=told.append)
    assert plan is not None
    shares = [one.share for one in told]
    assert shares == sorted(shares)
    assert all(0.0 <= share <= 1.0 for share in shares)
    assert told[-1].straightening_pct == pytest.approx(plan.straightening_pct)
    assert {one.bound_pct for one in told} == {plan.bound_pct}


def test_a_cancelled_plan_is_none() -> None:
    asked = iter([False, False, False, True])
    assert solve(SMALL, cancelled=lambda: next(asked)) is None


def test_a_plan_without_time_is_the_greedy_one_and_says_so() -> None:
    plan = solve(SMALL, out_of_time=lambda: True)
    assert plan is not None
    assert plan.cut_short
    assert plan.turns == plan_greedily(SMALL).turns


@pytest.mark.parametrize(
    ("missing", "problem"),
    [
        ("gymnasts", replace(SMALL, trainees=())),
        ("sessions", replace(SMALL, sessions=())),
        ("rounds", replace(SMALL, sessions=(Session(0, 0, 0, 8.0, 2),))),
        ("stations", replace(SMALL, stations=())),
        ("exercises", replace(SMALL, exercises=())),
        (
            "exercises",
            replace(
                SMALL,
                trainees=tuple(
                    replace(
                        one, barred=frozenset(load for e in SMALL.exercises for load in e.loads)
                    )
                    for one in SMALL.trainees
                ),
                exercises=tuple(one for one in SMALL.exercises if one.loads),
            ),
        ),
    ],
)
def test_a_problem_without_anything_to_plan_is_refused(missing: str, problem: Problem) -> None:
    with pytest.raises(EmptyProblemError) as refused:
        solve(problem)
    assert refused.value.missing == missing


@pytest.mark.parametrize("pin", [Pin("nothing"), Pin("neck_0", 99), Pin("neck_0", 1, 999)])
def test_a_pin_of_what_is_not_there_is_refused(pin: Pin) -> None:
    with pytest.raises(RefusedInputError, match="take back"):
        solve(replace(SMALL, pins=(pin,)))
