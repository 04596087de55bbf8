"""What a coach wants of a plan, kept with it so that planning again does not forget it."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from chordline.application.club.records import Json


@dataclass(frozen=True)
class WishedTurn:
    """An exercise that the coach pins or excludes.

    Attributes
    ----------
    exercise : str
    gymnast : int or None
        None = everybody.
    day : date or None
        Of one session. None = once in every week where pinned, never where excluded.
    """

    exercise: str
    gymnast: int | None = None
    day: date | None = None


@dataclass(frozen=True)
class PlanWish:
    """What a plan is asked for with.

    Attributes
    ----------
    first_day : date
        May lie in the past: then the plan begins with the sessions of that day.
    weeks : int
    author : str
    today : date
    pins, exclusions : tuple of WishedTurn
    absences : mapping of date to gymnasts
        Who is known not to come.
    token : str or None
        Of the form; sent twice, one plan is kept.
    """

    first_day: date
    weeks: int
    author: str
    today: date
    pins: tuple[WishedTurn, ...] = ()
    exclusions: tuple[WishedTurn, ...] = ()
    absences: Mapping[date, frozenset[int]] = field(default_factory=dict)
    token: str | None = None


def wish_to_json(wish: PlanWish) -> dict[str, Any]:
    """Return what of a wish is kept with its plan."""
    return {
        "weeks": wish.weeks,
        "pins": [_turn_to_json(one) for one in wish.pins],
        "exclusions": [_turn_to_json(one) for one in wish.exclusions],
        "absences": [
            {"date": day.isoformat(), "gymnasts": sorted(away)}
            for day, away in sorted(wish.absences.items())
        ],
    }


def wish_from_json(record: Json, *, first_day: date, author: str, today: date) -> PlanWish:
    """Return the wish of a kept plan for another beginning; what lies before it is left out.

    Parameters
    ----------
    record : mapping
        `asked` of a plan.
    first_day : date
    author : str
    today : date
    """
    return PlanWish(
        first_day=first_day,
        weeks=int(record["weeks"]),
        author=author,
        today=today,
        pins=_turns(record["pins"], first_day),
        exclusions=_turns(record["exclusions"], first_day),
        absences={
            day: frozenset(one["gymnasts"])
            for one in record["absences"]
            if (day := date.fromisoformat(one["date"])) >= first_day and one["gymnasts"]
        },
    )


def _turn_to_json(one: WishedTurn) -> dict[str, Any]:
    return {
        "exercise": one.exercise,
        "gymnast": one.gymnast,
        "date": None if one.day is None else one.day.isoformat(),
    }


def _turns(said: list[Json], first_day: date) -> tuple[WishedTurn, ...]:
    turns = (
        WishedTurn(
            exercise=one["exercise"],
            gymnast=one["gymnast"],
            day=None if one["date"] is None else date.fromisoformat(one["date"]),
        )
        for one in said
    )
    return tuple(one for one in turns if one.day is None or one.day >= first_day)
