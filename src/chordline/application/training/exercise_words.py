"""An exercise in words, as its page and the command line say it."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from chordline.application.findings_words import lower_first, unit_of_capacity, upper_first
from chordline.application.tongue import NBSP, Tongue, tongue_of
from chordline.application.training.words import (
    KINDS,
    LOADS,
    SPOTTERS,
    dose_in_words,
)
from chordline.application.wording import SD_95
from chordline.catalogue.schema import Catalogue, Source, Sourced
from chordline.catalogue.training_schema import ExerciseEntry, FeedEntry, TrainingCatalogue

#: Below this a gain is written with one decimal: whole degrees would be nothing.
_WHOLE_FROM = 10.0


#: How long she should have trained, by level.
_LEVELS: Final = {1: "beginners too", 2: "after some seasons", 3: "advanced"}


@dataclass(frozen=True)
class FedCapacity:
    """What an exercise gives to one capacity.

    Attributes
    ----------
    capacity, label : str
    gain : str
        With its ± (95 %), in a week.
    rests_on : str
        Assumption with its reason, common practice, or the source.
    """

    capacity: str
    label: str
    gain: str
    rests_on: str


@dataclass(frozen=True)
class ExerciseWords:
    """An exercise in words.

    Attributes
    ----------
    id, title, kind : str
    dose, rest : str
        Of a turn; `rest` may be empty.
    week : str
        How much of it a week its gains hold for.
    minutes : str
    equipment, spotter, age, level : str
    home : str
        Whether it may be done at home.
    position, how, watch, fault, care : str
    loads : str
        What it puts load on; may be empty.
    needs : tuple of str
        What must not be missing before.
    feeds : tuple of FedCapacity
    rests_on : str
        What the dose rests on.
    easier, harder : mapping of id to title
    """

    id: str
    title: str
    kind: str
    dose: str
    rest: str
    week: str
    minutes: str
    equipment: str
    spotter: str
    age: str
    level: str
    home: str
    position: str
    how: str
    watch: str
    fault: str
    care: str
    loads: str
    needs: tuple[str, ...]
    feeds: tuple[FedCapacity, ...]
    rests_on: str
    easier: Mapping[str, str]
    harder: Mapping[str, str]


def put_in_words(name: str, training: TrainingCatalogue, catalogue: Catalogue) -> ExerciseWords:
    """Return an exercise of the catalogue in words."""
    entry, tongue = training.exercises[name], tongue_of("en")
    return ExerciseWords(
        id=name,
        title=entry.title,
        kind=KINDS[entry.kind],
        dose=dose_in_words(entry.dose, tongue),
        rest=_rest(entry, tongue),
        week=tongue.amount(entry.weekly_dose_min, "min", _digits(entry.weekly_dose_min)),
        minutes=tongue.amount(entry.minutes, "min", _digits(entry.minutes)),
        equipment=equipment_in_words(entry, training),
        spotter=upper_first(SPOTTERS[entry.spotter]) or "Nobody needs to spot",
        age=f"from {entry.from_age_y} years",
        level=_LEVELS[entry.level],
        home="May be done at home" if entry.home else "In the gym only",
        position=entry.position,
        how=entry.how,
        watch=entry.watch,
        fault=entry.fault,
        care=entry.care,
        loads=upper_first(tongue.listed([LOADS[one] for one in entry.loads])),
        needs=tuple(
            _need(capacity, most, catalogue, tongue) for capacity, most in entry.needs.items()
        ),
        feeds=tuple(
            FedCapacity(
                capacity,
                catalogue.capacities[capacity].label,
                weekly_gain(capacity, feed, tongue),
                rests_on(feed, training.sources),
            )
            for capacity, feed in _strongest_first(entry)
        ),
        rests_on=rests_on(entry, training.sources),
        easier={one: training.exercises[one].title for one in entry.easier},
        harder={one: training.exercises[one].title for one in entry.harder},
    )


def _strongest_first(entry: ExerciseEntry) -> list[tuple[str, FeedEntry]]:
    """What it is for stands first; the catalogue writes it so."""
    return list(entry.feeds.items())


def equipment_in_words(entry: ExerciseEntry, training: TrainingCatalogue) -> str:
    """Return what it needs, e.g. ``A box or a pile of mats; a stick``."""
    if not entry.equipment:
        return "The floor is enough"
    return upper_first("; ".join(training.equipment[one].label for one in entry.equipment))


def _rest(entry: ExerciseEntry, tongue: Tongue) -> str:
    rest_s = entry.dose.rest_s
    return f"{tongue.amount(rest_s, 's')} rest between" if rest_s else ""


def _digits(value: float) -> int:
    return 0 if float(value).is_integer() else 1


def weekly_gain(capacity: str, feed: FeedEntry, tongue: Tongue) -> str:
    """Return what a weekly dose gives in a week, with its ± (95 %).

    A hold's gain is said as the share by which she holds longer.
    """
    unit = unit_of_capacity(capacity)
    if unit == "s":
        share = 100.0 * math.expm1(feed.gain)
        spread = 100.0 * math.exp(feed.gain) * SD_95 * feed.sd
        return f"{tongue.plus_minus(share, spread, 'pct', _shown(share))} longer"
    return tongue.plus_minus(feed.gain, SD_95 * feed.sd, unit, _shown(feed.gain))


def _shown(value: float) -> int:
    return 0 if value >= _WHOLE_FROM else 1


def _need(capacity: str, most: float, catalogue: Catalogue, tongue: Tongue) -> str:
    entry, unit = catalogue.capacities[capacity], unit_of_capacity(capacity)
    if unit == "s":
        held = tongue.amount(100.0 * math.exp(-most), "pct")
        return f"{entry.label}: holds at least {held} of the target"
    missing = lower_first(entry.missing.format(value=tongue.amount(most, unit)))
    return f"{entry.label}: at most {missing}"


def rests_on(entry: Sourced, sources: Mapping[str, Source]) -> str:
    """Return what an entry rests on, e.g. ``Assumption: …``."""
    source = sources.get(entry.source)
    said = source.citation.rstrip(".") if source is not None else upper_first(entry.source)
    if source is not None and source.reading != "read":
        said = f"{said} ({source.reading})"
    return f"{said}.{NBSP}{entry.reason}".rstrip() if entry.reason else f"{said}."
