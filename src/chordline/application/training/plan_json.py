"""A plan as a JSON object, `chordline.plan/1`. docs/records.md describes every key."""

import math
from typing import Any

from chordline.application.training.plan_problem import PlanRequest, training_days
from chordline.catalogue.schema import Catalogue
from chordline.catalogue.training_schema import TrainingCatalogue
from chordline.core.estimate import Estimate
from chordline.core.planning.gains import count_minutes, gains_of_plan
from chordline.core.planning.may import may_do
from chordline.core.planning.problem import (
    Exercise,
    Plan,
    Problem,
    Session,
    Trainee,
    Turn,
)
from chordline.core.planning.worth import expect_missing, expect_taken, share_missing, weigh_payoff

SCHEMA = "chordline.plan/1"
_HOME_AT_MOST = 3
_DAYS_A_WEEK = 7
#: Three to one, as for what limits her.
_PROBABLY = 0.75


def plan_to_json(
    plan: Plan,
    problem: Problem,
    request: PlanRequest,
    training: TrainingCatalogue,
    catalogue: Catalogue,
) -> dict[str, Any]:
    """Return a JSON-ready dictionary; gymnasts are in it by id alone.

    What was asked for is put beside it by who keeps the plan.
    """
    days = training_days(request)
    squad = [one.id for one in problem.trainees]
    starts = request.group.starts_at
    starts_at = None if starts is None else starts.strftime("%H:%M")
    return {
        "schema": SCHEMA,
        "group": {"id": request.group.group_id, "name": request.group_name},
        "first_day": request.first_day.isoformat(),
        "weeks": request.weeks,
        "objective": {
            "straightening_pct": round(plan.straightening_pct, 4),
            "bound_pct": round(plan.bound_pct, 4),
            "gap": round(plan.gap, 4),
            "cut_short": plan.cut_short,
            "expected_pct": _estimate(_expected(plan, problem)),
        },
        "stations": [
            {"name": one.name, "places": one.places, "equipment": list(one.equipment)}
            for one in request.group.stations
        ],
        "sessions": [
            {
                "date": day.isoformat(),
                "week": session.week,
                "starts_at": starts_at,
                "warm_up_min": training.setting("warm_up_min"),
                "round_min": session.round_min,
                "coaches": session.coaches,
                **_rounds(session, [one for one in plan.turns if one.session == number], squad),
                "absent": sorted(session.absent),
            }
            for number, (session, day) in enumerate(zip(problem.sessions, days, strict=True))
        ],
        "gymnasts": _gymnasts(plan, problem, request, training),
        "catalogue": catalogue.version,
        "training": training.version,
    }


def _rounds(session: Session, turns: list[Turn], squad: list[int]) -> dict[str, Any]:
    """Return who does what in each round, and who of those who are there rests."""
    rounds: list[list[dict[str, Any]]] = [[] for _ in range(session.rounds)]
    busy: list[set[int]] = [set() for _ in range(session.rounds)]
    for turn in turns:
        busy[turn.round].update(turn.gymnasts)
        rounds[turn.round].append(
            {"station": turn.station, "exercise": turn.exercise, "gymnasts": list(turn.gymnasts)}
        )
    resting = [
        [one for one in squad if one not in working and one not in session.absent]
        for working in busy
    ]
    return {"rounds": rounds, "resting": resting}


def _gymnasts(
    plan: Plan, problem: Problem, request: PlanRequest, training: TrainingCatalogue
) -> list[dict[str, Any]]:
    exercises = {one.id: one for one in problem.exercises}
    gains = gains_of_plan(problem, plan.turns)
    minutes = count_minutes(problem, plan.turns)
    told = []
    for her, gymnast in zip(problem.trainees, request.gymnasts, strict=True):
        # Of a plan that begins on a Thursday, the first and the last calendar week are half weeks.
        weeks = {one.day // _DAYS_A_WEEK for one in problem.sessions if her.id not in one.absent}
        done: dict[str, float] = {}
        for week in minutes.get(her.id, {}).values():
            for name, spent in week.items():
                done[name] = done.get(name, 0.0) + spent / max(len(weeks), 1)
        told.append(
            {
                "gymnast": her.id,
                "level": her.level,
                "signs": list(gymnast.signs),
                "barred": sorted(her.barred),
                "never_screened": gymnast.findings is None,
                "work": _work(her, done, gains[her.id], exercises, problem.rules.doubt_weight),
                "home": _home(her, exercises, training, problem.rules.doubt_weight),
                "too_little": _too_little(her, done, exercises, problem),
            }
        )
    return told


def _work(
    her: Trainee,
    done: dict[str, float],
    gains: dict[str, Estimate],
    exercises: dict[str, Exercise],
    doubt_weight: float,
) -> list[dict[str, Any]]:
    """Return what the plan works on, what takes most minutes first.

    The minutes of an exercise are told once, at the capacity that makes it worth most for her.
    """
    spent: dict[str, float] = {}
    for name, weekly_min in done.items():
        feeds = exercises[name].feeds
        main = max(
            feeds,
            key=lambda one: (
                feeds[one].value * weigh_payoff(her.needs[one].payoff, doubt_weight)
                if one in her.needs
                else 0.0
            ),
        )
        spent[main] = spent.get(main, 0.0) + weekly_min
    return [
        {
            "capacity": name,
            "weekly_min": round(weekly_min, 1),
            "shortfall": _estimate(her.needs[name].shortfall),
            "payoff": {
                "value": round(her.needs[name].payoff.value, 5),
                "sd": round(her.needs[name].payoff.sd, 5),
            },
            "gain": _estimate(expect_taken(her.needs[name].shortfall, gains[name])),
        }
        for name, weekly_min in sorted(spent.items(), key=lambda one: (-one[1], one[0]))
        if name in her.needs
    ]


def _expected(plan: Plan, problem: Problem) -> Estimate:
    """Return the bow that a plan is expected to take away, summed over the squad [% of chord].

    Unlike the objective it counts doubtful payoffs in full and says their error. What a minute
    gives is assumed for everybody alike, so errors add up as if they were all of one sign.
    """
    gains = gains_of_plan(problem, plan.turns)
    mean = sd = 0.0
    for her in problem.trainees:
        for name, need in her.needs.items():
            gain = gains[her.id].get(name)
            if gain is None or need.payoff.value <= 0.0:
                continue
            taken = expect_taken(need.shortfall, gain)
            mean += need.payoff.value * taken.value
            sd += math.hypot(need.payoff.value * taken.sd, taken.value * need.payoff.sd)
    return Estimate(mean, sd)


def _estimate(one: Estimate) -> dict[str, float]:
    return {"mean": round(one.value, 3), "sd": round(one.sd, 3)}


def _home(
    her: Trainee,
    exercises: dict[str, Exercise],
    training: TrainingCatalogue,
    doubt_weight: float,
) -> list[str]:
    """Return what she may do at home: one exercise for each of her strongest needs."""
    worth = {
        name: weigh_payoff(need.payoff, doubt_weight) * expect_missing(need.shortfall)
        for name, need in her.needs.items()
    }
    chosen: list[str] = []
    for capacity in sorted(worth, key=lambda one: (-worth[one], one)):
        if worth[capacity] <= 0.0 or len(chosen) == _HOME_AT_MOST:
            break
        fits = [
            one
            for one in exercises.values()
            if training.exercises[one.id].home
            and capacity in one.feeds
            and one.id not in chosen
            and may_do(her, one)
        ]
        if fits:
            best = max(fits, key=lambda one: one.feeds[capacity].value)
            chosen.append(best.id)
    return chosen


def _too_little(
    her: Trainee, done: dict[str, float], exercises: dict[str, Exercise], problem: Problem
) -> list[str]:
    """Return the groups that are worked on for what she probably misses, but too little.

    Less than the least is no use as far as is known; of what she has it is no matter.
    """
    missing = {
        name for name, need in her.needs.items() if share_missing(need.shortfall, 0.0) >= _PROBABLY
    }
    groups: dict[str, float] = {}
    for name, weekly_min in done.items():
        if missing.isdisjoint(exercises[name].feeds):
            continue
        group = exercises[name].group
        groups[group] = groups.get(group, 0.0) + weekly_min
    least = problem.rules.least_weekly_min
    return sorted(one for one, spent in groups.items() if spent < least.get(one, 0.0) - 1e-9)
