"""What planned turns are expected to give each gymnast."""

import math
from collections.abc import Iterable, Mapping

from chordline.core.estimate import Estimate
from chordline.core.planning.problem import Exercise, Problem, Turn
from chordline.core.planning.worth import expect_gain, weigh_payoff

#: Gymnast to week to exercise to minutes.
Minutes = dict[int, dict[int, dict[str, float]]]


def count_minutes(problem: Problem, turns: Iterable[Turn]) -> Minutes:
    """Return the minutes that each gymnast spends on each exercise, week by week."""
    minutes_of = {one.id: one.minutes for one in problem.exercises}
    found: Minutes = {}
    for turn in turns:
        week = problem.sessions[turn.session].week
        for gymnast in turn.gymnasts:
            on = found.setdefault(gymnast, {}).setdefault(week, {})
            on[turn.exercise] = on.get(turn.exercise, 0.0) + minutes_of[turn.exercise]
    return found


def gain_of_dose(exercise: Exercise, minutes: float) -> float:
    """Return the share of a weekly dose that minutes of a week make, 1 at the most."""
    return min(minutes / exercise.weekly_dose_min, 1.0)


def count_gains(
    exercises: Mapping[str, Exercise], weekly: Iterable[Mapping[str, float]]
) -> dict[str, Estimate]:
    """Return what weeks of work are expected to take off each shortfall [its unit].

    Parameters
    ----------
    exercises : mapping of id to Exercise
    weekly : iterable of mapping of exercise to float [min]
        One mapping a week.

    Notes
    -----
    What one exercise gives is uncertain in the same way every week (its sds add up); different
    exercises err independently (their variances add up).
    """
    doses: dict[str, float] = {}
    for week in weekly:
        for name, minutes in week.items():
            doses[name] = doses.get(name, 0.0) + gain_of_dose(exercises[name], minutes)
    means: dict[str, float] = {}
    variances: dict[str, float] = {}
    for name, doses_done in doses.items():
        for capacity, fed in exercises[name].feeds.items():
            means[capacity] = means.get(capacity, 0.0) + doses_done * fed.value
            variances[capacity] = variances.get(capacity, 0.0) + (doses_done * fed.sd) ** 2
    return {name: Estimate(mean, math.sqrt(variances[name])) for name, mean in means.items()}


def gains_of_plan(problem: Problem, turns: Iterable[Turn]) -> dict[int, dict[str, Estimate]]:
    """Return what a plan is expected to take off the shortfalls of each gymnast."""
    exercises = {one.id: one for one in problem.exercises}
    minutes = count_minutes(problem, turns)
    return {
        one.id: count_gains(exercises, minutes.get(one.id, {}).values()) for one in problem.trainees
    }


def straighten(problem: Problem, turns: Iterable[Turn]) -> float:
    """Return the objective of a plan: bow expected to be taken away, over the squad [% of chord].

    It depends on the turns alone, not on how they were found.
    """
    gains = gains_of_plan(problem, turns)
    weight = problem.rules.doubt_weight
    return sum(
        weigh_payoff(need.payoff, weight) * expect_gain(need.shortfall, gain.value)
        for one in problem.trainees
        for name, need in one.needs.items()
        if (gain := gains[one.id].get(name)) is not None
    )
