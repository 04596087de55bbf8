"""Checks a plan against every rule, one turn after the other, without the solver's expressions.

`find_faults` returns a sentence for each rule that a plan breaks. Written from the problem's
docstrings alone; nothing of the solver is imported.
"""

from collections import Counter, defaultdict
from collections.abc import Iterator
from itertools import pairwise

import numpy as np
from scipy.integrate import quad
from scipy.stats import norm

from chordline.core.planning.problem import Plan, Problem

ORDER = ("skill", "balance", "control", "shape", "strength", "active", "range")


def find_faults(problem: Problem, plan: Plan) -> list[str]:
    """Return everything that is wrong with a plan."""
    return [
        *_stations(problem, plan),
        *_gymnasts(problem, plan),
        *_evenings(problem, plan),
        *_weeks(problem, plan),
        *_days(problem, plan),
        *_wishes(problem, plan),
        *_worth(problem, plan),
    ]


def _stations(problem: Problem, plan: Plan) -> Iterator[str]:
    exercises = {one.id: one for one in problem.exercises}
    for (session, round_, station), times in Counter(
        (one.session, one.round, one.station) for one in plan.turns
    ).items():
        if times > 1:
            yield f"session {session} round {round_}: station {station} holds {times} exercises"
    spotters: Counter[tuple[int, int]] = Counter()
    for turn in plan.turns:
        where = f"session {turn.session} round {turn.round} station {turn.station}"
        exercise, station = exercises[turn.exercise], problem.stations[turn.station]
        session = problem.sessions[turn.session]
        spotters[turn.session, turn.round] += exercise.spotters
        if not turn.gymnasts:
            yield f"{where}: open for nobody"
        if len(turn.gymnasts) > station.places:
            yield f"{where}: {len(turn.gymnasts)} at {station.places} places"
        if exercise.equipment - station.equipment:
            yield f"{where}: {exercise.id} lacks {set(exercise.equipment - station.equipment)}"
        if not 0 <= turn.round < session.rounds:
            yield f"{where}: there are {session.rounds} rounds"
        if exercise.minutes > session.round_min:
            yield f"{where}: {exercise.id} takes longer than a round"
    for (session, round_), count in spotters.items():
        if count > problem.sessions[session].coaches:
            yield f"session {session} round {round_}: {count} spotters are not there"


def _gymnasts(problem: Problem, plan: Plan) -> Iterator[str]:
    exercises = {one.id: one for one in problem.exercises}
    trainees = {one.id: one for one in problem.trainees}
    for turn in plan.turns:
        exercise = exercises[turn.exercise]
        for gymnast in turn.gymnasts:
            who = f"gymnast {gymnast}, session {turn.session}, {exercise.id}"
            her = trainees[gymnast]
            if (her.age_y if her.age_y is not None else 0.0) < exercise.from_age_y:
                yield f"{who}: too young"
            if her.level < exercise.level:
                yield f"{who}: level {exercise.level}"
            if her.barred & exercise.loads:
                yield f"{who}: {set(her.barred & exercise.loads)} is barred"
            for capacity, most in exercise.needs.items():
                has = her.needs.get(capacity)
                if has is None or has.shortfall.value + has.shortfall.sd > most:
                    yield f"{who}: {capacity} is too short"
            if gymnast in problem.sessions[turn.session].absent:
                yield f"{who}: is absent"


def _evenings(problem: Problem, plan: Plan) -> Iterator[str]:
    exercises = {one.id: one for one in problem.exercises}
    evenings: dict[tuple[int, int], list[tuple[int, str]]] = defaultdict(list)
    for turn in plan.turns:
        for gymnast in turn.gymnasts:
            evenings[gymnast, turn.session].append((turn.round, turn.exercise))
    for (gymnast, session), turns in evenings.items():
        who = f"gymnast {gymnast}, session {session}"
        turns.sort()
        rounds = [round_ for round_, _ in turns]
        if len(set(rounds)) < len(rounds):
            yield f"{who}: two turns in one round"
        kinds = [ORDER.index(exercises[name].kind) for _, name in turns]
        if kinds != sorted(kinds):
            yield f"{who}: kinds out of order {kinds}"
        for name, times in Counter(name for _, name in turns).items():
            if times > problem.rules.most_repeats:
                yield f"{who}: {name} {times} times"


def _weeks(problem: Problem, plan: Plan) -> Iterator[str]:
    exercises = {one.id: one for one in problem.exercises}
    minutes: dict[tuple[int, int, str], float] = defaultdict(float)
    hard: dict[tuple[int, int, str], set[int]] = defaultdict(set)
    for turn in plan.turns:
        exercise = exercises[turn.exercise]
        week = problem.sessions[turn.session].week
        for gymnast in turn.gymnasts:
            minutes[gymnast, week, exercise.group] += exercise.minutes
            if exercise.hard:
                hard[gymnast, week, exercise.group].add(turn.session)
    for (gymnast, week, group), done in minutes.items():
        if done > problem.rules.most_weekly_min.get(group, np.inf) + 1e-6:
            yield f"gymnast {gymnast}, week {week}: {done} min of {group}"
    for (gymnast, week, group), sessions in hard.items():
        if len(sessions) > problem.rules.most_weekly_hard:
            yield f"gymnast {gymnast}, week {week}: {group} hard {len(sessions)} times"


def _days(problem: Problem, plan: Plan) -> Iterator[str]:
    exercises = {one.id: one for one in problem.exercises}
    hard: dict[tuple[int, str], set[int]] = defaultdict(set)
    for turn in plan.turns:
        if exercises[turn.exercise].hard:
            for gymnast in turn.gymnasts:
                hard[gymnast, exercises[turn.exercise].group].add(turn.session)
    for (gymnast, group), sessions in hard.items():
        days = sorted(problem.sessions[one].day for one in sessions)
        for day, following in pairwise(days):
            if following - day < 2:
                yield f"gymnast {gymnast}: {group} hard on days {day} and {following}"


def _wishes(problem: Problem, plan: Plan) -> Iterator[str]:
    had = {
        (gymnast, turn.session, turn.exercise) for turn in plan.turns for gymnast in turn.gymnasts
    }
    for not_wanted in problem.exclusions:
        for gymnast, session, exercise in had:
            if (
                exercise == not_wanted.exercise
                and not_wanted.gymnast in (None, gymnast)
                and not_wanted.session in (None, session)
            ):
                yield f"{not_wanted} is not kept"
    for pin in problem.pins:
        # Whether everybody else may is the solver's word; a pin by name has no such way out.
        if pin.gymnast is None:
            continue
        if pin.session is not None:
            if (pin.gymnast, pin.session, pin.exercise) not in had:
                yield f"{pin} is not kept"
            continue
        for week in {one.week for one in problem.sessions}:
            there = [
                i
                for i, one in enumerate(problem.sessions)
                if one.week == week and pin.gymnast not in one.absent
            ]
            if there and not any((pin.gymnast, i, pin.exercise) in had for i in there):
                yield f"{pin} is not kept in week {week}"


def _worth(problem: Problem, plan: Plan) -> Iterator[str]:
    worth = straighten_by_integral(problem, plan)
    if not np.isclose(worth, plan.straightening_pct, rtol=1e-6, atol=1e-9):
        yield f"worth {worth}, not {plan.straightening_pct}"
    if plan.straightening_pct > plan.bound_pct * (1.0 + 1e-9):
        yield f"worth {plan.straightening_pct} is above its bound {plan.bound_pct}"


def straighten_by_integral(problem: Problem, plan: Plan) -> float:
    """Return a plan's objective, expectations by numerical integration."""
    exercises = {one.id: one for one in problem.exercises}
    minutes: dict[tuple[int, int, str], float] = defaultdict(float)
    for turn in plan.turns:
        for gymnast in turn.gymnasts:
            week = problem.sessions[turn.session].week
            minutes[gymnast, week, turn.exercise] += exercises[turn.exercise].minutes
    gains: dict[tuple[int, str], float] = defaultdict(float)
    for (gymnast, _, name), done in minutes.items():
        for capacity, fed in exercises[name].feeds.items():
            share = done / exercises[name].weekly_dose_min
            gains[gymnast, capacity] += fed.value * min(share, 1.0)
    total = 0.0
    for her in problem.trainees:
        for capacity, need in her.needs.items():
            gain = gains[her.id, capacity]
            mean, sd = need.shortfall.value, need.shortfall.sd
            if sd <= 0.0:
                taken = min(max(mean, 0.0), gain)
            else:
                taken = (
                    quad(lambda t, m=mean, s=sd: norm.sf(t, m, s), 0.0, gain)[0] if gain else 0.0
                )
            value = max(need.payoff.value, 0.0)
            doubt = min(1.0, need.payoff.sd / value) if value else 1.0
            total += value * (1.0 - problem.rules.doubt_weight * doubt) * taken
    return total
