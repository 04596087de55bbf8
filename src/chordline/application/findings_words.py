"""Sentences of the findings, from one place. They describe the shape, never the person."""

from collections.abc import Sequence

import numpy as np

from chordline.application.wording import describe_measure, with_unit
from chordline.catalogue.schema import Catalogue
from chordline.core.body.measurement import Measurement
from chordline.core.body.verdict import Verdict
from chordline.core.capacity.compensation import Compensation
from chordline.core.capacity.observed import HOLD_MEASURE, Held, Label


def unit_of_capacity(name: str) -> str:
    """Return ``deg``, ``pct`` or ``s`` (log-seconds)."""
    return name.rpartition("_")[2]


def amount(name: str, shortfall: float) -> str:
    """Return a capacity's shortfall as a coach reads it, e.g. ``18°`` or ``74 %``.

    For a hold: which share of the target she reaches.
    """
    if unit_of_capacity(name) == "s":
        return f"{100.0 * np.exp(-shortfall):.0f} %"
    return with_unit(shortfall, unit_of_capacity(name))


def amount_sd(name: str, shortfall: float, sd: float) -> str:
    """Return the ± of a capacity's shortfall (95 %), in the unit of `amount`."""
    if unit_of_capacity(name) == "s":
        return f"{100.0 * np.exp(-shortfall) * 1.96 * sd:.0f} %"
    return with_unit(1.96 * sd, unit_of_capacity(name))


def capacity_in_words(name: str, mean: float, verdict: Verdict, catalogue: Catalogue) -> str:
    """Return what a capacity's estimate says."""
    entry = catalogue.capacities[name]
    if verdict is Verdict.ON_THE_LINE:
        return entry.enough
    return entry.missing.format(value=amount(name, max(mean, 0.0)))


def reason_in_words(
    label: Label,
    shift: float,
    capacity: str,
    *,
    measurement: Measurement | None,
    held: Held | None,
    catalogue: Catalogue,
) -> str:
    """Return one sentence: what a measure showed and how far it moved the estimate."""
    test = catalogue.tests[label.test]
    if label.measure == HOLD_MEASURE and held is not None:
        shown = f"{'at least ' if held.reached_cap else ''}{held.seconds:.0f} s in shape"
    elif measurement is not None:
        line = describe_measure(
            label.measure, measurement.measures[label.measure], test=test, catalogue=catalogue
        )
        shown = f"{line.label.lower()} {line.words}"
    else:
        shown = label.measure
    return f"{test.title}: {shown}{_moved(capacity, shift)}"


def _moved(capacity: str, shift: float) -> str:
    if unit_of_capacity(capacity) == "s":
        return f" ({'shorter' if shift > 0 else 'longer'} than expected)."
    size = with_unit(shift, unit_of_capacity(capacity))
    return f" ({'adds' if shift > 0 else 'takes off'} {size})."


def undecided_in_words(
    capacities: Sequence[str], ask_test: str | None, catalogue: Catalogue
) -> str:
    """Return what is open and what would decide it."""
    names = [catalogue.capacities[name].label for name in capacities]
    first = names[0] + "".join(f" or {name.lower()}" for name in names[1:])
    state = "not yet separable" if len(names) > 1 else "cannot tell yet"
    if ask_test is None:
        return f"{first}: {state}; no test left tells more today."
    test = catalogue.tests[ask_test]
    marks = _marks_to_set(ask_test, capacities, catalogue)
    also = f" Mark {marks} on the photo." if marks else ""
    return f"{first}: {state}. To decide: {test.title.lower()} — {test.how}{also}"


#: Curves that somebody has to mark, by the beginning of the measures' names.
_MARKED = {
    "seam_": "the seam of the trunk",
    "upper_back_": "the outline of the back",
    "lower_back_": "the outline of the back",
}


def _marks_to_set(test: str, capacities: Sequence[str], catalogue: Catalogue) -> str | None:
    """Return the curve without whose marks a test tells nothing of these capacities, or None."""
    telling = [
        measure
        for measure, row in catalogue.model[test].items()
        if any(capacity in row.loads for capacity in capacities)
    ]
    curves = [
        curve
        for measure in telling
        for begins, curve in _MARKED.items()
        if measure.startswith(begins)
    ]
    return curves[0] if curves and len(curves) == len(telling) else None


def compensation_in_words(change: Compensation, catalogue: Catalogue) -> str:
    """Return what changed in the body between the base test and the test."""
    entry = catalogue.measures[change.measure]
    unit = change.measure.rpartition("_")[2]
    size = with_unit(change.change, unit)
    error = with_unit(1.96 * change.sd, unit)
    way = _WAYS.get(change.measure, ("more", "less"))[0 if change.change > 0 else 1]
    test, base = catalogue.tests[change.test], catalogue.tests[change.base]
    return (
        f"{test.title}: {entry.label.lower()} {size} ± {error} {way} "
        f"than in '{base.title.lower()}'."
    )


#: How a rise and a fall of a measure read.
_WAYS = {
    "hip_opening_deg": ("more open", "more closed"),
    "shoulder_opening_deg": ("more open", "more closed"),
    "knee_opening_deg": ("straighter", "more bent"),
    "seam_hollow_deg": ("more hollow", "more rounded"),
    "lower_back_hollow_deg": ("more hollow", "more rounded"),
    "upper_back_hollow_deg": ("more hollow", "more rounded"),
}
