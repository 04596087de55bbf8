"""Sentences about a plan, from one place: what clashes, and why she gets this work."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from chordline.application.days import day_in_words
from chordline.application.findings_words import amount, amount_sd, lower_first, unit_of_capacity
from chordline.application.training.plan_problem import PlanRequest, training_days
from chordline.application.training.words import LOADS
from chordline.application.wording import SD_95
from chordline.catalogue.schema import Catalogue
from chordline.catalogue.training_schema import TrainingCatalogue
from chordline.core.planning.clash import Clash, ClashError
from chordline.core.planning.problem import Exclusion, Pin


@dataclass(frozen=True)
class ClashWords:
    """Says a clash in the words of a group's plan.

    Attributes
    ----------
    request : PlanRequest
    training : TrainingCatalogue
    catalogue : Catalogue
    """

    request: PlanRequest
    training: TrainingCatalogue
    catalogue: Catalogue

    def __call__(self, error: ClashError) -> str:
        """Return one sentence: what is asked, what stands against it, and what helps."""
        asked = [self._say(one) for one in error.clashes if one.kind == "pin"]
        against = [self._say(one) for one in error.clashes if one.kind != "pin"]
        said = " and ".join(asked)
        if against:
            said += ", but " + ", and ".join(against)
        return f"{said[0].upper()}{said[1:]}. Take back one of these."

    def _say(self, one: Clash) -> str:
        if one.kind == "pin":
            return self._pin(self.request.pins[one.wish or 0])
        if one.kind == "exclusion":
            return self._exclusion(self.request.exclusions[one.wish or 0])
        title = self._title(one.exercise)
        who = self._name(one.gymnast)
        when = self._when(one.session)
        group = self._group(one.subject)
        return {
            "age": lambda: f"{title} is for older gymnasts than {who}",
            "level": lambda: f"{title} asks for more seasons of training than {who} has",
            "load": lambda: self._barred(one.gymnast, one.subject),
            "need": lambda: self._needed(title, who, one.subject),
            "absent": lambda: f"{who} is away {when}",
            "equipment": lambda: f"no station has what {title} takes{self._gear(one.exercise)}",
            "round_min": lambda: f"{title} takes longer than a round",
            "rounds": lambda: f"there are too few rounds {when}",
            "places": lambda: f"there are too few places at the stations {when}",
            "coaches": lambda: f"there are too few coaches to spot {when}",
            "order": lambda: (
                f"{who}'s exercises do not fit into the order of a session {when} "
                "(skill first, long stretches last)"
            ),
            "weekly_minutes": lambda: (
                f"that is more work for {group} than a week should hold for {who}"
            ),
            "hard_days": lambda: f"{who} would work hard on {group} on consecutive days",
            "hard_week": lambda: f"{who} would work hard on {group} on too many days of a week",
        }[one.kind]()

    def _pin(self, pin: Pin) -> str:
        who = "everybody" if pin.gymnast is None else self._name(pin.gymnast)
        when = "every week" if pin.session is None else self._when(pin.session)
        return f"{who} is pinned to {self._title(pin.exercise)} {when}"

    def _exclusion(self, one: Exclusion) -> str:
        who = "everybody" if one.gymnast is None else self._name(one.gymnast)
        when = "" if one.session is None else f" {self._when(one.session)}"
        return f"{self._title(one.exercise)} is excluded for {who}{when}"

    def _barred(self, who: int | None, load: str) -> str:
        gymnast = next(one for one in self.request.gymnasts if one.id == who)
        signs = [
            lower_first(self.catalogue.referrals[sign].label)
            for sign in gymnast.signs
            if sign not in self.training.bars or load in self.training.bars[sign].loads
        ]
        said = " and ".join(signs) or "sign"
        return f"the reported {said} of {gymnast.name} bars {LOADS.get(load, load)}"

    def _needed(self, title: str, who: str, capacity: str) -> str:
        what = lower_first(self.catalogue.capacities[capacity].label)
        return f"{title} leans on more than {who} surely has ({what})"

    def _gear(self, exercise: str | None) -> str:
        gear = self.training.exercises[exercise or ""].equipment
        return f" ({', '.join(self.training.equipment[one].label for one in gear)})" if gear else ""

    def _title(self, exercise: str | None) -> str:
        entry = self.training.exercises.get(exercise or "")
        return f"'{exercise if entry is None else entry.title}'"

    def _name(self, gymnast: int | None) -> str:
        return next((one.name for one in self.request.gymnasts if one.id == gymnast), "somebody")

    def _group(self, group: str) -> str:
        entry = self.training.groups.get(group)
        return group if entry is None else f"'{entry.label}'"

    def _when(self, session: int | None) -> str:
        if session is None:
            return ""
        days: Sequence[date] = training_days(self.request)
        return f"in session {session + 1} ({day_in_words(days[session])})"


def why_in_words(gymnast: Mapping[str, Any], weeks: int, catalogue: Catalogue) -> str:
    """Return why she gets her work, from her element of a plan's record.

    Parameters
    ----------
    gymnast : mapping
        Of `gymnasts` in `chordline.plan/1`.
    weeks : int
    catalogue : Catalogue
    """
    work = gymnast["work"]
    if not work:
        return "No work is planned for her: nothing that she may do works on what is missing."
    first = work[0]
    name = first["capacity"]
    entry = catalogue.capacities[name]
    mean, sd = first["shortfall"]["mean"], first["shortfall"]["sd"]
    said = (
        f"Most minutes go to {_place(entry.label)} ({first['weekly_min']:.0f} min a week): "
        f"{_missing(name, mean, sd, catalogue)}"
    )
    gained = _gain(name, first["gain"]["mean"], first["gain"]["sd"])
    said += f" In {weeks} weeks the work is expected to give {gained}."
    if len(work) > 1:
        others = [lower_first(catalogue.capacities[one["capacity"]].label) for one in work[1:3]]
        said += f" Then: {' and '.join(others)}."
    if gymnast["never_screened"]:
        said += (
            " She was never screened, so this rests on what is usual: a screen would sharpen it."
        )
    if gymnast["signs"]:
        labels = [lower_first(catalogue.referrals[one].label) for one in gymnast["signs"]]
        said += (
            f" Reported: {', '.join(labels)}. What loads it is left out; let a licensed clinician "
            "look at it before she goes on."
        )
    return said


def _place(label: str) -> str:
    return f"'{lower_first(label)}'"


def _missing(name: str, mean: float, sd: float, catalogue: Catalogue) -> str:
    """Return what is missing with its ±, for one who may miss nothing at all."""
    entry = catalogue.capacities[name]
    if mean <= 0.0:
        return f"probably {entry.enough}; it is kept and made sure."
    return f"{entry.missing.format(value=amount(name, mean))} ± {amount_sd(name, mean, sd)}."


def _gain(name: str, gain: float, sd: float) -> str:
    """Return a plan's gain with its ± (95 %)."""
    unit = unit_of_capacity(name)
    if unit == "s":
        longer, error = 100.0 * math.expm1(gain), 100.0 * math.exp(gain) * SD_95 * sd
        return f"holds that last {longer:.0f} % ± {error:.0f} % longer"
    sign = " %" if unit == "pct" else "°"
    return f"{gain:.0f}{sign} ± {SD_95 * sd:.0f}{sign}"
