"""A squad's planning problem from its records: findings, reported signs, work done, the gym."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any

from chordline.application.days import age_on
from chordline.application.training.records import GroupTraining, WorkRecord
from chordline.application.training.signs import barred_loads
from chordline.catalogue.schema import Catalogue
from chordline.catalogue.training_schema import ExerciseEntry, TrainingCatalogue
from chordline.core.estimate import Estimate
from chordline.core.planning.drift import drift_of_work, lessen
from chordline.core.planning.problem import (
    Exclusion,
    Exercise,
    Level,
    Need,
    Pin,
    Problem,
    Rules,
    Session,
    Station,
    Trainee,
)


@dataclass(frozen=True)
class PlannedGymnast:
    """What planning is told of a gymnast.

    Attributes
    ----------
    id : int
    name : str
        For sentences; the plan's record has the id alone.
    birth_date : date or None
    level : Level
    findings : mapping or None
        `chordline.findings/1`; None where she was never screened.
    screened_on : date or None
        The day that the findings speak of: work after it counts.
    signs : tuple of str
        Reported signs that are open.
    away : frozenset of date
        Days on which she is known not to come.
    """

    id: int
    name: str
    birth_date: date | None
    level: Level = 1
    findings: Mapping[str, Any] | None = None
    screened_on: date | None = None
    signs: tuple[str, ...] = ()
    away: frozenset[date] = frozenset()


@dataclass(frozen=True)
class PlanRequest:
    """What a plan is asked for.

    Attributes
    ----------
    group : GroupTraining
    group_name : str
    first_day : date
        Today, where a running plan is made anew.
    weeks : int
    gymnasts : tuple of PlannedGymnast
    work : tuple of WorkRecord
        What they did, at least since their screens.
    pins, exclusions : tuple
        `session` counts the days of `training_days`, from 0.
    closed : frozenset of date
        Days on which nobody trains.
    """

    group: GroupTraining
    group_name: str
    first_day: date
    weeks: int
    gymnasts: tuple[PlannedGymnast, ...]
    work: tuple[WorkRecord, ...] = ()
    pins: tuple[Pin, ...] = ()
    exclusions: tuple[Exclusion, ...] = ()
    closed: frozenset[date] = field(default_factory=frozenset)


def training_days(request: PlanRequest) -> tuple[date, ...]:
    """Return the days of a plan: the group's weekdays from its first day, without closed days."""
    days = (request.first_day + timedelta(days=n) for n in range(7 * request.weeks))
    return tuple(
        day for day in days if day.weekday() in request.group.weekdays and day not in request.closed
    )


def build_problem(
    request: PlanRequest, training: TrainingCatalogue, catalogue: Catalogue
) -> Problem:
    """Return what the planner solves.

    Notes
    -----
    Weeks are calendar weeks, Monday first, so that weekly minutes are those that a coach counts;
    a plan that begins on a Thursday has a short first week.
    """
    exercises = {name: as_planned(name, one) for name, one in training.exercises.items()}
    return Problem(
        trainees=tuple(
            _trainee(one, request, exercises, training, catalogue) for one in request.gymnasts
        ),
        exercises=tuple(exercises.values()),
        stations=tuple(
            Station(one.name, one.places, frozenset(one.equipment))
            for one in request.group.stations
        ),
        sessions=_sessions(request, training),
        rules=rules_of(training),
        pins=request.pins,
        exclusions=request.exclusions,
    )


def rules_of(training: TrainingCatalogue) -> Rules:
    """Return what holds for every plan."""
    return Rules(
        least_weekly_min={name: one.least_weekly_min for name, one in training.groups.items()},
        most_weekly_min={name: one.most_weekly_min for name, one in training.groups.items()},
        most_weekly_hard=round(training.setting("most_weekly_hard")),
        most_repeats=round(training.setting("most_repeats")),
        block_weeks=round(training.setting("block_weeks")),
        doubt_weight=training.setting("doubt_weight"),
    )


def needs_of(
    gymnast: PlannedGymnast,
    drift: Mapping[str, Estimate],
    training: TrainingCatalogue,
    catalogue: Catalogue,
) -> dict[str, Need]:
    """Return what each capacity asks of the plan.

    Notes
    -----
    Shortfall: from her findings, lessened by the work done since; from the catalogue's prior where
    she was never screened. Payoff: from the forecast of her line. For capacities that the forecast
    does not rest on (strength, neck, balance), or where there is none, it is the catalogue's
    `straightening` (degrees that a unit bends the line) times `bow_pct_per_deg`; both are
    assumptions, so its sd is as large as itself. What the forecast says straightens nothing has a
    payoff of 0, never a negative one.
    """
    found = gymnast.findings or {}
    capacities: Mapping[str, Any] = found.get("capacities") or {}
    forecast: Mapping[str, Any] = found.get("forecast") or {}
    payoffs: Mapping[str, Any] = forecast.get("payoffs") or {}
    needs = {}
    for name, entry in catalogue.capacities.items():
        seen = capacities.get(name)
        shortfall = (
            Estimate(entry.prior_mean, entry.prior_sd)
            if seen is None
            else Estimate(float(seen["mean"]), float(seen["sd"]))
        )
        if name in payoffs:
            payoff = Estimate(
                max(float(payoffs[name]["value"]), 0.0), max(float(payoffs[name]["sd"]), 0.0)
            )
        else:
            assumed = entry.straightening * training.setting("bow_pct_per_deg")
            payoff = Estimate(assumed, assumed)
        needs[name] = Need(lessen(shortfall, drift.get(name)), payoff)
    return needs


def weekly_work(
    gymnast: PlannedGymnast, work: Sequence[WorkRecord]
) -> tuple[dict[str, float], ...]:
    """Return the minutes that she did since her screen, week by week and by exercise.

    Without a screen, all of it: the prior then speaks of the beginning of the records. Work of the
    day of the screen came after it or before it: nobody knows, so it does not count.
    """
    weeks: dict[date, dict[str, float]] = {}
    for one in work:
        if one.gymnast_id != gymnast.id:
            continue
        if gymnast.screened_on is not None and one.held_on <= gymnast.screened_on:
            continue
        week = weeks.setdefault(_monday(one.held_on), {})
        week[one.exercise] = week.get(one.exercise, 0.0) + one.share * one.minutes
    return tuple(weeks[monday] for monday in sorted(weeks))


def as_planned(name: str, entry: ExerciseEntry) -> Exercise:
    """Return an exercise of the catalogue as planning sees it."""
    return Exercise(
        id=name,
        kind=entry.kind,
        minutes=entry.minutes,
        group=entry.group,
        hard=entry.hard,
        feeds={capacity: Estimate(fed.gain, fed.sd) for capacity, fed in entry.feeds.items()},
        weekly_dose_min=entry.weekly_dose_min,
        equipment=frozenset(entry.equipment),
        spotters=1 if entry.spotter == "coach" else 0,
        from_age_y=float(entry.from_age_y),
        level=entry.level,
        loads=frozenset(entry.loads),
        needs=dict(entry.needs),
    )


def _trainee(
    gymnast: PlannedGymnast,
    request: PlanRequest,
    exercises: Mapping[str, Exercise],
    training: TrainingCatalogue,
    catalogue: Catalogue,
) -> Trainee:
    drift = drift_of_work(exercises, weekly_work(gymnast, request.work))
    return Trainee(
        id=gymnast.id,
        age_y=training.setting("unknown_age_y")
        if gymnast.birth_date is None
        else age_on(request.first_day, gymnast.birth_date),
        level=gymnast.level,
        needs=needs_of(gymnast, drift, training, catalogue),
        barred=barred_loads(gymnast.signs, training),
    )


def _sessions(request: PlanRequest, training: TrainingCatalogue) -> tuple[Session, ...]:
    round_min = training.setting("round_min")
    work_min = request.group.minutes - training.setting("warm_up_min")
    first = _monday(request.first_day)
    return tuple(
        Session(
            day=(day - request.first_day).days,
            week=(day - first).days // 7,
            rounds=max(0, int(work_min / round_min + 1e-9)),
            round_min=round_min,
            coaches=request.group.coaches,
            absent=frozenset(one.id for one in request.gymnasts if day in one.away),
        )
        for day in training_days(request)
    )


def _monday(day: date) -> date:
    return day - timedelta(days=day.weekday())
