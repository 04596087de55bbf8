from dataclasses import replace
from itertools import product

import pytest

from chordline.core.planning.bound import bound_plan
from chordline.core.planning.gains import straighten
from chordline.core.planning.instance import prepare
from chordline.core.planning.problem import Plan, Problem, Turn
from plan_checker import find_faults
from squads import squad


def best_of_all(problem: Problem) -> float:
    """Return the worth of the best plan: every plan of a tiny problem is looked at."""
    spots = [(s, r) for s, one in enumerate(problem.sessions) for r in range(one.rounds)]
    names = [one.id for one in problem.exercises]
    gymnasts = [one.id for one in problem.trainees]
    both = [*((one,) for one in gymnasts), tuple(gymnasts)]
    choices = [None, *((name, who) for name in names for who in both)]
    best = 0.0
    for chosen in product(choices, repeat=len(spots)):
        turns = tuple(
            Turn(s, r, 0, one[0], one[1])
            for (s, r), one in zip(spots, chosen, strict=True)
            if one is not None
        )
        worth = straighten(problem, turns)
        if worth > best and find_faults(problem, Plan(turns, worth, worth)) == []:
            best = worth
    return best


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_no_plan_of_all_exceeds_the_bound_even_without_blocks(seed: int) -> None:
    tiny = squad(2, seed=seed, weeks=2, weekdays=(0,), stations=1, places=1, rounds=1, signs=0.0)
    chosen = [one for one in tiny.exercises if not one.needs and one.level == 1][seed::9]
    bare = tuple(replace(one, equipment=frozenset(), from_age_y=0.0) for one in chosen)
    problem = replace(tiny, exercises=bare[:3])
    best = best_of_all(problem)
    bound = bound_plan(prepare(problem))
    assert 0.0 < best <= bound
    assert bound < 1.6 * best
