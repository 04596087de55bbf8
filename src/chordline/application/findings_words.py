"""Sentences of the findings, from one place. They describe the shape, never the person."""

from collections.abc import Sequence

import numpy as np

from chordline.application.wording import describe_measure, with_unit
from chordline.catalogue.schema import Catalogue
from chordline.core.body.measurement import Measurement
from chordline.core.body.verdict import Verdict
from chordline.core.capacity.compensation import Compensation
from chordline.core.capacity.observed import HOLD_MEASURE, Fault, Held, Label


def unit_of_capacity(name: str) -> str:
    """Return ``deg``, ``pct`` or ``s`` (log-seconds)."""
    return name.rpartition("_")[2]


def amount(name: str, shortfall: float) -> str:
    """Return a capacity's shortfall as a coach reads it, e.g. ``18°`` or ``74 %``.

    For a hold: which share of the target she reaches.
    """
    if unit_of_capacity(name) == "s":
        return f"{100.0 * np.exp(-shortfall):.0f} %"
    return _whole(shortfall, unit_of_capacity(name))


def amount_sd(name: str, shortfall: float, sd: float) -> str:
    """Return the ± of a capacity's shortfall (95 %), in the unit of `amount`."""
    if unit_of_capacity(name) == "s":
        return f"{100.0 * np.exp(-shortfall) * 1.96 * sd:.0f} %"
    return _whole(1.96 * sd, unit_of_capacity(name))


def _whole(value: float, unit: str) -> str:
    """Return a magnitude in whole degrees or per cent: no capacity is known more finely."""
    return f"{abs(value):.0f} %" if unit == "pct" else with_unit(value, unit)


def capacity_in_words(name: str, mean: float, verdict: Verdict, catalogue: Catalogue) -> str:
    """Return what a capacity's estimate says."""
    entry = catalogue.capacities[name]
    if verdict is Verdict.ON_THE_LINE:
        return entry.enough
    return entry.missing.format(value=amount(name, max(mean, 0.0)))


def shown_in_words(
    label: Label, *, measurement: Measurement | None, held: Held | None, catalogue: Catalogue
) -> str:
    """Return what a measure or a hold showed, within a sentence."""
    if label.measure == HOLD_MEASURE and held is not None:
        return f"{'at least ' if held.reached_cap else ''}{held.seconds:.0f} s in shape"
    if measurement is None:
        return label.measure
    test = catalogue.tests[label.test]
    line = describe_measure(
        label.measure, measurement.measures[label.measure], test=test, catalogue=catalogue
    )
    return f"{line.label.lower()} {line.words}"


def reason_in_words(
    shown: str, shift: float, *, test: str, capacity: str, catalogue: Catalogue
) -> str:
    """Return one sentence: what a test showed and how far that moved the estimate."""
    return f"{catalogue.tests[test].title}: {shown}{_moved(capacity, shift)}"


def _moved(capacity: str, shift: float) -> str:
    if unit_of_capacity(capacity) == "s":
        return f" ({'shorter' if shift > 0 else 'longer'} than expected)."
    size = with_unit(shift, unit_of_capacity(capacity))
    moved = f"adds {size} to" if shift > 0 else f"takes {size} off"
    return f" ({moved} the estimate)."


def undecided_in_words(
    capacities: Sequence[str], ask_test: str | None, catalogue: Catalogue
) -> str:
    """Return what is open and what would decide it."""
    state = open_in_words(capacities, catalogue)
    if ask_test is None:
        return f"{state}; no test left tells more today."
    return f"{state}. To decide: {ask_in_words(ask_test, capacities, catalogue)}"


def either_in_words(labels: Sequence[str]) -> str:
    """Return rivals as a coach says them, e.g. ``Hip flexors or pelvic control``."""
    return labels[0] + "".join(f" or {lower_first(label)}" for label in labels[1:])


def lower_first(words: str) -> str:
    """Return words as they stand inside a sentence."""
    return words[:1].lower() + words[1:]


def upper_first(words: str) -> str:
    """Return words as they stand at the beginning of a sentence."""
    return words[:1].upper() + words[1:]


def open_in_words(capacities: Sequence[str], catalogue: Catalogue) -> str:
    """Return what is open, without a full stop."""
    names = either_in_words([catalogue.capacities[name].label for name in capacities])
    return f"{names}: {'cannot be told apart yet' if len(capacities) > 1 else 'cannot tell yet'}"


def ask_in_words(test: str, capacities: Sequence[str], catalogue: Catalogue) -> str:
    """Return the test that would decide what is open, and how it is done."""
    entry = catalogue.tests[test]
    marks = _marks_to_set(test, capacities, catalogue)
    also = f" Mark {marks} on the photo." if marks else ""
    return f"{entry.title}. {entry.how}{also}"


def decider_in_words(test: str, capacities: Sequence[str], catalogue: Catalogue) -> str:
    """Return why a test is worth its time that only tells two rivals apart."""
    entry = catalogue.tests[test]
    first, second = (lower_first(catalogue.capacities[name].label) for name in capacities)
    return f"{entry.title}: {lower_first(entry.reads)} It tells {first} from {second}."


def fault_in_words(fault: Fault, catalogue: Catalogue) -> str:
    """Return what was put aside, and why."""
    test = catalogue.tests[fault.test].title if fault.test in catalogue.tests else fault.test
    entry = catalogue.measures.get(fault.measure)
    measure = f", {lower_first(entry.label)}" if entry is not None else ""
    source = "" if fault.source in fault.why else f" ({fault.source})"
    return f"{test}{measure}{source}: {fault.why}"


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
    "trunk_hollow_deg": ("more hollow", "more rounded"),
    "lower_back_hollow_deg": ("more hollow", "more rounded"),
    "upper_back_hollow_deg": ("more hollow", "more rounded"),
}
