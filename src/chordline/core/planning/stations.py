"""Which station a turn stands at, where several would do: what stands idle there is least."""

from collections.abc import Sequence
from itertools import groupby

import numpy as np
import scipy  # its parts are loaded when they are used

from chordline.core.planning.problem import Exercise, Problem, Turn

#: Against a piece of equipment that stands idle, the order of the stations hardly counts.
_IDLE = 100.0
_IMPOSSIBLE = 1e6


def settle_stations(problem: Problem, turns: Sequence[Turn]) -> tuple[Turn, ...]:
    """Return the same turns, each round's dealt anew to the stations.

    A floor exercise goes to the mats, not to the bar that has a mat under it as well. Who works
    with whom on what, and everything that a plan is worth, stays.

    Parameters
    ----------
    problem : Problem
    turns : sequence of Turn
        In the order of session, round, station.
    """
    exercises = {one.id: one for one in problem.exercises}
    settled: list[Turn] = []
    for (session, round_), together in groupby(turns, key=lambda one: (one.session, one.round)):
        some = list(together)
        cost = np.array([_costs(problem, exercises[one.exercise], one) for one in some])
        _, at = scipy.optimize.linear_sum_assignment(cost)
        settled += sorted(
            (
                Turn(session, round_, int(station), one.exercise, one.gymnasts)
                for one, station in zip(some, at, strict=True)
            ),
            key=lambda one: one.station,
        )
    return tuple(settled)


def _costs(problem: Problem, exercise: Exercise, turn: Turn) -> list[float]:
    """Return what it costs to have a turn at each station."""
    return [
        _IDLE * len(station.equipment - exercise.equipment) + number
        if exercise.equipment <= station.equipment and len(turn.gymnasts) <= station.places
        else _IMPOSSIBLE
        for number, station in enumerate(problem.stations)
    ]
