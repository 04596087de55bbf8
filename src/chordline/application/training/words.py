"""Words that sheets, pages and commands of training share: doses, loads, levels, capacities."""

import math
from collections.abc import Mapping, Set
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from chordline.application.findings import CapacityFinding
from chordline.application.findings_words import unit_of_capacity
from chordline.application.tongue import NBSP, Tongue, mark
from chordline.application.wording import SD_95
from chordline.catalogue.schema import CapacityEntry, Catalogue
from chordline.catalogue.training_schema import Dose, ExerciseEntry, TrainingCatalogue
from chordline.core.estimate import Estimate
from chordline.core.planning.problem import Kind, Level

LOADS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "weight_on_hands": mark("weight on the hands"),
        "wrist_bent_back": mark("wrists bent back"),
        "back_arched": mark("arching the back"),
        "back_loaded": mark("load on the back"),
        "shoulder_at_end_of_range": mark("shoulders at the end of their range"),
        "hip_at_end_of_range": mark("hips at the end of their range"),
        "upside_down": mark("hanging or standing upside down"),
        "neck_loaded": mark("load on the neck"),
        "hanging": mark("hanging from the hands"),
        "impact": mark("jumps and landings"),
    }
)

SPOTTERS: Final[Mapping[str, str]] = MappingProxyType(
    {"none": "", "partner": mark("with a partner"), "coach": mark("a coach spots")}
)

#: How long she has trained.
LEVELS: Final[Mapping[Level, str]] = MappingProxyType(
    {1: mark("new"), 2: mark("some seasons"), 3: mark("advanced")}
)

#: In the order in which an evening has them.
KINDS: Final[Mapping[Kind, str]] = MappingProxyType(
    {
        "skill": mark("Skill"),
        "balance": mark("Balance"),
        "control": mark("Control"),
        "shape": mark("Shape"),
        "strength": mark("Strength"),
        "active": mark("Active range"),
        "range": mark("Range"),
    }
)

CARE: Final = (
    mark("chordline is not a medical device. It describes shapes and never diagnoses."),
    mark(
        "Pain, numbness, a one-sided change, back pain on arching or wrist pain: stop, and let a "
        "licensed clinician look at it."
    ),
    mark(
        "Never force a stretch on a child. Hands-on help is for trained coaches, with mats and "
        "spotters; local safeguarding rules come first."
    ),
)


@dataclass(frozen=True)
class ToldExercise:
    """An exercise in the reader's words.

    Attributes
    ----------
    id : str
        For its drawing.
    title, dose, position, how, watch, care : str
        `position`: how she begins.
    spotter : str
        Empty where none is needed.
    """

    id: str
    title: str
    dose: str
    position: str
    how: str
    watch: str
    care: str
    spotter: str


def tell_exercise(name: str, training: TrainingCatalogue, tongue: Tongue) -> ToldExercise:
    """Return an exercise in words; one that the catalogue has no more keeps its key as title."""
    entry = training.exercises.get(name)
    if entry is None:
        return ToldExercise(name, name, "", "", "", "", "", "")
    return ToldExercise(
        id=name,
        title=tongue.word("exercise title", entry.title),
        dose=dose_in_words(entry.dose, tongue),
        position=tongue.word("exercise position", entry.position),
        how=tongue.word("exercise how", entry.how),
        watch=tongue.word("exercise watch", entry.watch),
        care=tongue.word("exercise care", entry.care),
        spotter=_spotter(entry, tongue),
    )


def _spotter(entry: ExerciseEntry, tongue: Tongue) -> str:
    said = SPOTTERS[entry.spotter]
    return tongue.say(said) if said else ""


def dose_in_words(dose: Dose, tongue: Tongue) -> str:
    """Return a turn's dose, e.g. ``3 × 20 s, each side``."""
    amount = tongue.number(dose.reps) if dose.reps is not None else ""
    if dose.seconds is not None:
        amount = tongue.amount(dose.seconds, "s")
    said = f"{tongue.number(dose.sets)}{NBSP}×{NBSP}{amount}"
    return tongue.say("{dose}, each side", dose=said) if dose.each_side else said


def shortfall_in_words(name: str, shortfall: Estimate, tongue: Tongue) -> str:
    """Return a shortfall with its ± (95 %); for a hold the share of the target that she reaches."""
    if unit_of_capacity(name) == "s":
        share = 100.0 * math.exp(-shortfall.value)
        return tongue.plus_minus(share, share * SD_95 * shortfall.sd, "pct")
    return tongue.plus_minus(shortfall.value, SD_95 * shortfall.sd, unit_of_capacity(name))


def gain_in_words(name: str, *, shortfall: Estimate, gain: Estimate, tongue: Tongue) -> str:
    """Return what a plan is expected to take off a shortfall, with its ± (95 %)."""
    if unit_of_capacity(name) == "s":
        share = 100.0 * math.exp(-shortfall.value) * math.expm1(gain.value)
        spread = 100.0 * math.exp(gain.value - shortfall.value) * SD_95 * gain.sd
        return tongue.plus_minus(share, spread, "pct")
    return tongue.plus_minus(gain.value, SD_95 * gain.sd, unit_of_capacity(name), 1)


def missing_in_words(one: CapacityFinding, entry: CapacityEntry, tongue: Tongue) -> str:
    """Return a shortfall as a coach says it, e.g. ``closed by 18°``."""
    unit = unit_of_capacity(one.name)
    mean = max(one.mean, 0.0)
    value = (
        tongue.amount(100.0 * math.exp(-mean), "pct") if unit == "s" else tongue.amount(mean, unit)
    )
    return tongue.word("capacity", entry.missing, value=value)


def capacity_label(name: str, catalogue: Catalogue, tongue: Tongue) -> str:
    """Return what a capacity is called; one that the catalogue has no more keeps its key."""
    entry = catalogue.capacities.get(name)
    return name if entry is None else tongue.word("capacity", entry.label)


def inside(words: str, tongue: Tongue) -> str:
    """Return words as they stand inside a sentence: German nouns keep their capital."""
    return words if tongue.code == "de" else words[:1].lower() + words[1:]


def stays(exercise: str, barred: Set[str], training: TrainingCatalogue) -> bool:
    """Return whether no sign bars an exercise that was planned.

    What an exercise loads that the catalogue has no more is not known: any sign bars it.
    """
    known = training.exercises.get(exercise)
    return not barred if known is None else barred.isdisjoint(known.loads)
