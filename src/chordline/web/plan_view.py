"""A group's plan as its page shows it: who works on what, and the weeks."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, time

from chordline.application.findings_words import unit_of_capacity
from chordline.application.tongue import Tongue, tongue_of
from chordline.application.training.planned import HerPlan, PlannedWork, ReadPlan
from chordline.application.training.words import (
    LOADS,
    capacity_label,
    gain_in_words,
    shortfall_in_words,
    tell_exercise,
)
from chordline.catalogue.schema import Catalogue
from chordline.catalogue.training_schema import TrainingCatalogue
from chordline.web.evening_view import RoundShown, show_rounds

#: So many of her needs stand in the table; the rest is on her sheet.
_MOST_WORK = 4
#: A gap that is above a whole per cent by less than this is that per cent.
_ROUNDING_PCT = 1e-6


@dataclass(frozen=True)
class WorkShown:
    """One capacity of one gymnast: minutes a week, what is missing, what the plan should give."""

    label: str
    minutes: str
    words: str


@dataclass(frozen=True)
class HersShown:
    """One gymnast's part.

    Attributes
    ----------
    id : int
    name : str
    work : tuple of WorkShown
    more : int
        Needs that are not shown.
    home : tuple of (id, title)
    without : str
        Loads that her reported signs bar, in words; empty where none.
    remarks : tuple of str
    """

    id: int
    name: str
    work: tuple[WorkShown, ...]
    more: int
    home: tuple[tuple[str, str], ...]
    without: str
    remarks: tuple[str, ...]


@dataclass(frozen=True)
class DayShown:
    """One session of the week that is shown."""

    day: date
    starts_at: time | None
    minutes: int
    rounds: tuple[RoundShown, ...]
    absent: tuple[str, ...]


@dataclass(frozen=True)
class PlanShown:
    """A plan.

    Attributes
    ----------
    first_day, last_day : date
    weeks, sessions : int
    within_pct : int
        It is at most so much below the best plan that these numbers allow.
    hers : tuple of HersShown
    calendar_weeks : int
        One more than `weeks` where the plan begins within a week.
    week : int
        The calendar week that is shown, from 1.
    days : tuple of DayShown
    """

    first_day: date
    last_day: date
    weeks: int
    sessions: int
    within_pct: int
    hers: tuple[HersShown, ...]
    calendar_weeks: int
    week: int
    days: tuple[DayShown, ...]


def show_plan(
    plan: ReadPlan,
    *,
    week: int,
    names: Mapping[int, str],
    catalogue: Catalogue,
    training: TrainingCatalogue,
) -> PlanShown:
    """Return what the page of a plan shows.

    Parameters
    ----------
    plan : ReadPlan
    week : int
        Calendar week, from 1; another than the plan's is taken as the nearest of them.
    names : mapping of gymnast to str
    catalogue : Catalogue
    training : TrainingCatalogue
    """
    tongue = tongue_of("en")
    week = min(max(week, 1), plan.calendar_weeks)
    hers = [
        _hers(one, names[one.gymnast], catalogue, training, tongue)
        for one in plan.hers.values()
        if one.gymnast in names
    ]
    return PlanShown(
        first_day=plan.first_day,
        last_day=plan.last_day,
        weeks=plan.weeks,
        sessions=len(plan.evenings),
        within_pct=math.ceil(100.0 * plan.gap - _ROUNDING_PCT),
        hers=tuple(sorted(hers, key=lambda one: one.name.casefold())),
        calendar_weeks=plan.calendar_weeks,
        week=week,
        days=tuple(
            DayShown(
                day=one.held_on,
                starts_at=one.starts_at,
                minutes=round(one.warm_up_min + len(one.rounds) * one.round_min),
                rounds=show_rounds(one, plan.stations, names=names, training=training),
                absent=tuple(sorted(names[her] for her in one.absent if her in names)),
            )
            for one in plan.evenings
            if one.week == week - 1
        ),
    )


def _hers(
    one: HerPlan, name: str, catalogue: Catalogue, training: TrainingCatalogue, tongue: Tongue
) -> HersShown:
    worked = [work for work in one.work if work.weekly_min > 0.0]
    remarks = []
    if one.never_screened:
        remarks.append("Never screened: the work is what suits anybody. A screen makes it hers.")
    if one.too_little:
        groups = [
            training.groups[key].label.lower() for key in one.too_little if key in training.groups
        ]
        remarks.append(f"Less than the usual least a week for {tongue.listed(groups)}.")
    return HersShown(
        id=one.gymnast,
        name=name,
        work=tuple(_work(work, catalogue, tongue) for work in worked[:_MOST_WORK]),
        more=max(len(worked) - _MOST_WORK, 0),
        home=tuple(
            (key, tell_exercise(key, training, tongue).title)
            for key in one.home
            if key in training.exercises
        ),
        without=tongue.listed([LOADS.get(load, load) for load in one.barred]),
        remarks=tuple(remarks),
    )


def _work(work: PlannedWork, catalogue: Catalogue, tongue: Tongue) -> WorkShown:
    now = shortfall_in_words(work.capacity, work.shortfall, tongue)
    gain = gain_in_words(work.capacity, shortfall=work.shortfall, gain=work.gain, tongue=tongue)
    return WorkShown(
        label=capacity_label(work.capacity, catalogue, tongue),
        minutes=tongue.amount(work.weekly_min, "min"),
        words=f"holds {now} of the target, {gain} more expected"
        if unit_of_capacity(work.capacity) == "s"
        else f"{now} missing, {gain} of it expected to go",
    )
