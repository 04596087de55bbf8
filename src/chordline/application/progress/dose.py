"""How many minutes were worked on each capacity."""

from collections.abc import Mapping, Sequence

from chordline.application.training.records import WorkRecord
from chordline.catalogue.schema import Catalogue
from chordline.core.planning.problem import Exercise


def minutes_by_capacity(
    work: Sequence[WorkRecord], exercises: Mapping[str, Exercise], catalogue: Catalogue
) -> dict[str, float]:
    """Return the minutes done on each capacity [min], in the order of the catalogue.

    Notes
    -----
    The minutes of an exercise are told once, at the capacity that it feeds most, counted in the
    thresholds from which a capacity limits. What the catalogue has no more is left out.
    """
    spent: dict[str, float] = {}
    for one in work:
        exercise = exercises.get(one.exercise)
        fed = {} if exercise is None else exercise.feeds
        known = [name for name in fed if name in catalogue.capacities]
        if not known or one.share <= 0.0:
            continue
        main = max(known, key=lambda name: fed[name].value / catalogue.capacities[name].threshold)
        spent[main] = spent.get(main, 0.0) + one.share * one.minutes
    return {name: spent[name] for name in catalogue.capacities if name in spent}
