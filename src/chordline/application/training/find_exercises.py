"""Looks through the exercises: by words, by what they work on, by what there is."""

from collections.abc import Mapping
from dataclasses import dataclass

from chordline.application.club.names import name_key
from chordline.catalogue.schema import Catalogue
from chordline.catalogue.training_schema import ExerciseEntry, TrainingCatalogue
from chordline.core.planning.problem import KINDS, Kind


@dataclass(frozen=True)
class ExerciseQuery:
    """What is looked for; nothing asked finds everything.

    Attributes
    ----------
    text : str
        Beginnings of words that all stand in title, position, how, watch or fault, or in the
        name of what it works on.
    capacity : str
        Key of a capacity that it works on.
    kind : Kind or None
    equipment : str
        Key of something it uses; ``floor`` = nothing but the floor or a mat.
    home : bool
        Only what may be done at home without a coach.
    """

    text: str = ""
    capacity: str = ""
    kind: Kind | None = None
    equipment: str = ""
    home: bool = False


#: Stands for exercises that need nothing, or a mat.
FLOOR = "floor"
_ON_THE_FLOOR = frozenset({"mat"})


def find_exercises(
    query: ExerciseQuery, training: TrainingCatalogue, catalogue: Catalogue
) -> Mapping[str, ExerciseEntry]:
    """Return the exercises that fit, in the order of an evening, then as the catalogue has them."""
    found = [
        (name, entry)
        for name, entry in training.exercises.items()
        if _fits(name, entry, query, catalogue)
    ]
    # What gives most for the capacity asked for comes first inside its kind.
    if query.capacity:
        found.sort(key=lambda one: -one[1].feeds[query.capacity].gain)
    found.sort(key=lambda one: KINDS.index(one[1].kind))
    return dict(found)


def _fits(name: str, entry: ExerciseEntry, query: ExerciseQuery, catalogue: Catalogue) -> bool:
    return (
        (query.kind is None or entry.kind == query.kind)
        and (not query.capacity or query.capacity in entry.feeds)
        and (not query.home or entry.home)
        and _has_what_it_needs(entry, query.equipment)
        and _speaks_of(query.text, name, entry, catalogue)
    )


def _has_what_it_needs(entry: ExerciseEntry, equipment: str) -> bool:
    if equipment == FLOOR:
        return set(entry.equipment) <= _ON_THE_FLOOR
    return not equipment or equipment in entry.equipment


def _speaks_of(text: str, name: str, entry: ExerciseEntry, catalogue: Catalogue) -> bool:
    fed = (catalogue.capacities[one].label for one in entry.feeds)
    texts = (name, entry.title, entry.position, entry.how, entry.watch, entry.fault, *fed)
    words = name_key(" ".join(texts)).split()
    return all(any(one.startswith(asked) for one in words) for asked in name_key(text).split())
