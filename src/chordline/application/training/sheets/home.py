"""Which exercises a child may do at home, and how often."""

from collections.abc import Sequence
from typing import Final

from chordline.application.training.sheets.her import Her
from chordline.catalogue.training_schema import ExerciseEntry, TrainingCatalogue

#: More on one page are not done. Assumption.
MOST: Final = 3
#: A child has school as well: no exercise is asked for on more days than these. Assumption.
MOST_DAYS: Final = 5
#: Hard work rests a day between (lloyd-2014, in the training catalogue's sources).
MOST_HARD_DAYS: Final = 3
#: What the catalogue calls 'any age' [years].
_LEAST_AGE_Y: Final = 4


def exercises_for_home(
    her: Her, training: TrainingCatalogue, capacities: Sequence[str]
) -> tuple[str, ...]:
    """Return up to `MOST` exercises: the plan's, else what feeds her `capacities` best.

    Parameters
    ----------
    her : Her
    training : TrainingCatalogue
    capacities : sequence of str
        What is to be worked on, the first first.

    Notes
    -----
    Whatever a plan says: only what may be done without a coach, at her age and level, and nothing
    that an open sign bars. What needs the floor alone comes before what needs a wall or a stick.
    """
    barred = her.barred(training)
    planned = her.hers.home if her.hers is not None else ()
    chosen = [
        name
        for name in dict.fromkeys(planned)
        if (entry := training.exercises.get(name)) is not None and _may(her, entry, barred)
    ]
    if not planned:
        chosen = [
            name for capacity in capacities for name in _feeding(capacity, her, training, barred)
        ]
    return tuple(dict.fromkeys(chosen))[:MOST]


def _feeding(
    capacity: str, her: Her, training: TrainingCatalogue, barred: frozenset[str]
) -> list[str]:
    fitting = [
        (name, entry)
        for name, entry in training.exercises.items()
        if capacity in entry.feeds and _may(her, entry, barred)
    ]
    fitting.sort(key=lambda one: (len(one[1].equipment), -one[1].feeds[capacity].gain, one[0]))
    return [name for name, _ in fitting[:2]]


def _may(her: Her, entry: ExerciseEntry, barred: frozenset[str]) -> bool:
    # Where nobody said her age, only what any age may do: at home no coach sees how old she is.
    age = _LEAST_AGE_Y if her.age_y is None else her.age_y
    return (
        entry.home
        and entry.spotter != "coach"
        and entry.level <= her.level
        and entry.from_age_y <= age
        and not barred.intersection(entry.loads)
    )


def days_a_week(entry: ExerciseEntry) -> int:
    """Return on how many days a week an exercise gives its weekly dose at home."""
    days = max(1, round(entry.weekly_dose_min / entry.minutes))
    return min(days, MOST_HARD_DAYS if entry.hard else MOST_DAYS)
