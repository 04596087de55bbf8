"""Sentences about change, from one place. They describe the shape, never the person."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from chordline.application.days import day_in_words
from chordline.application.findings_words import amount, amount_sd, lower_first, unit_of_capacity
from chordline.application.progress.told import (
    CapacityProgress,
    HerRetest,
    Progress,
    Since,
    Standing,
)
from chordline.application.summary import percent_in_words
from chordline.application.wording import SD_95
from chordline.catalogue.schema import Catalogue
from chordline.core.capacity.observed import HOLD_MEASURE, LEAN_MEASURE
from chordline.core.progress.change_measured import MeasuredChange
from chordline.core.progress.retest import Why

NO_SCREEN = "No screen counts yet. Progress begins with the first one."
ONE_SCREEN = "One screen only: a change needs two."
#: What "real change" is, wherever it is said.
THRESHOLD = (
    "‘Real change: yes’ is said from a probability of {sure} on, and only from what tests "
    "measured; training that was done is no proof. ‘No’ means that a change worth knowing is as "
    "unlikely."
)
NOT_WHY = "Whether the training did it, these numbers cannot say."


def threshold_in_words(sure: float) -> str:
    """Return what a real change is."""
    return THRESHOLD.format(sure=percent_in_words(sure))


def gain_in_words(name: str, gain: float, sd: float) -> str:
    """Return a change with its ±, e.g. ``12° ± 5° less missing``.

    Parameters
    ----------
    name : str
        Of the capacity.
    gain, sd : float [the capacity's unit]
        By how much the shortfall fell.
    """
    if unit_of_capacity(name) == "s":
        share = 100.0 * abs(math.expm1(gain))
        spread = 100.0 * math.exp(gain) * SD_95 * sd
        return f"held {share:.0f} % ± {spread:.0f} % {'longer' if gain >= 0.0 else 'shorter'}"
    way = "less" if gain >= 0.0 else "more"
    size = amount(name, gain)
    missing = "" if size == amount(name, 0.0) else f" {way} missing"
    return f"{size} ± {amount_sd(name, gain, sd)}{missing}"


def size_in_words(name: str, size: float) -> str:
    """Return a size of a change, e.g. ``4°``."""
    if unit_of_capacity(name) == "s":
        return f"{100.0 * math.expm1(abs(size)):.0f} %"
    return amount(name, size)


def change_in_words(since: Since) -> str:
    """Return what changed since a day, e.g. ``12° ± 5° less missing than on 3 Mar 2025``."""
    change = since.change
    said = gain_in_words(change.capacity, change.gain, change.sd)
    day = day_in_words(since.day)
    return f"{said} than on {day}" if said[-1].isalpha() else f"{said} of change since {day}"


def standing_in_words(since: Since) -> str:
    """Return the answer with its probability, e.g. ``real change: yes (98 %)``."""
    change = since.change
    if since.standing is Standing.BETTER:
        return f"real change: yes ({percent_in_words(change.p_better)})"
    if since.standing is Standing.WORSE:
        return f"real change: yes, away from the line ({percent_in_words(1.0 - change.p_better)})"
    if since.standing is Standing.NO:
        return "real change: no"
    return "real change: not yet known"


def told_in_words(label: str, since: Since) -> str:
    """Return one sentence: what changed, and whether it is real."""
    change = since.change
    if since.standing is Standing.NO:
        worth = size_in_words(change.capacity, since.worth)
        same = f"no change of {worth} or more since {day_in_words(since.day)}"
        return f"{label}: {same} – {standing_in_words(since)}"
    if not change.told:
        nothing = f"the tests tell nothing of a change since {day_in_words(since.day)}"
        return f"{label}: {nothing} – {standing_in_words(since)}"
    return f"{label}: {change_in_words(since)} – {standing_in_words(since)}"


def leaning_in_words(since: Since) -> str:
    """Return how sure a change is that is not yet known; empty for others."""
    change = since.change
    if since.standing is not Standing.NOT_YET_KNOWN or not change.told:
        return ""
    if change.p_better >= 0.5:
        return f"Less missing: {percent_in_words(change.p_better)}."
    return f"More missing: {percent_in_words(1.0 - change.p_better)}."


def decider_in_words(since: Since, catalogue: Catalogue) -> str:
    """Return what would decide a change that is not yet known; empty for others."""
    if since.standing is not Standing.NOT_YET_KNOWN:
        return ""
    test = "" if since.ask is None else catalogue.tests[since.ask].title
    if not since.change.told:
        return f"To decide: ‘{test}’ in both screens." if test else ""
    again = f", or ‘{test}’ taken once more" if test else ""
    return f"To decide: more time{again}."


def now_in_words(one: CapacityProgress, catalogue: Catalogue) -> str:
    """Return what is missing at the latest screen, e.g. ``closed by 18° ± 6°``."""
    entry, at = catalogue.capacities[one.name], one.latest
    if not one.known:
        return "her latest tests tell too little"
    mean = max(at.mean, 0.0)
    if at.mean <= entry.threshold / 2.0:
        return f"{entry.enough} (± {amount_sd(one.name, mean, at.sd)})"
    value = f"{amount(one.name, mean)} ± {amount_sd(one.name, mean, at.sd)}"
    return entry.missing.format(value=value)


def note_in_words(progress: Progress) -> str:
    """Return why nothing can be said of a change; empty where something can."""
    if not progress.screens:
        return NO_SCREEN
    if len(progress.screens) == 1:
        return f"{ONE_SCREEN} Hers is of {day_in_words(progress.screens[0].day)}."
    return ""


def why_in_words(retest: HerRetest, catalogue: Catalogue) -> str:
    """Return why she is tested again on that day."""
    label = "" if retest.capacity is None else catalogue.capacities[retest.capacity].label
    if retest.why is Why.CHANGE and retest.capacity is not None and retest.gain is not None:
        size = size_in_words(retest.capacity, retest.gain.value)
        worked = "longer" if unit_of_capacity(retest.capacity) == "s" else "less missing"
        return (
            f"{label}: by then the plan is expected to have brought {size} {worked}, and the same "
            f"tests would show it ({percent_in_words(retest.power)})."
        )
    if retest.why is Why.DOUBT:
        sooner = " She may be growing fast, which brings this nearer." if retest.growing else ""
        return f"{label}: what the tests told has worn off by then.{sooner}"
    return "It is time in any case: nothing planned is expected to show sooner."


def due_in_words(retest: HerRetest, day: date) -> str:
    """Return when, e.g. ``due since 3 Mar 2025`` or ``from 3 Mar 2025 on``."""
    when = day_in_words(retest.due)
    if retest.due == day:
        return "due today"
    return f"due since {when}" if retest.is_due(day) else f"from {when} on"


def done_in_words(done_min: Mapping[str, float], catalogue: Catalogue) -> str:
    """Return work in minutes by capacity, e.g. ``Hip flexors 85 min; neck 10 min``."""
    parts = [
        f"{catalogue.capacities[name].label} {minutes:.0f} min"
        for name, minutes in done_min.items()
        if name in catalogue.capacities and minutes >= 0.5
    ]
    return "; ".join([*parts[:1], *map(lower_first, parts[1:])])


def calendar_title(count: int) -> str:
    """Return what a calendar says of a day of re-tests; it names nobody."""
    return f"Re-tests due: {count} {'gymnast' if count == 1 else 'gymnasts'}"


@dataclass(frozen=True)
class MeasuredLine:
    """One measure of one test in two screens, in words.

    Attributes
    ----------
    test, label, before, after, change, detectable : str
        `change` has its ±; `detectable` is the smallest change beyond error.
    beyond : bool
    """

    test: str
    label: str
    before: str
    after: str
    change: str
    detectable: str
    beyond: bool


def measured_in_words(
    changes: Sequence[MeasuredChange], catalogue: Catalogue
) -> tuple[MeasuredLine, ...]:
    """Return the raw changes as lines of a table, in the order of the battery."""
    return tuple(_measured_line(one, catalogue) for one in changes)


def _measured_line(one: MeasuredChange, catalogue: Catalogue) -> MeasuredLine:
    entry = catalogue.measures.get(one.measure)
    title = catalogue.tests[one.test].title
    if one.measure == HOLD_MEASURE:
        return MeasuredLine(
            test=title,
            label="Seconds in shape",
            before=f"{math.exp(one.before):.0f} s",
            after=f"{math.exp(one.after):.0f} s",
            change=f"{_signed(100.0 * math.expm1(one.change), 'pct', 0)} ± "
            f"{100.0 * math.exp(one.change) * SD_95 * one.sd:.0f} %",
            detectable=f"{100.0 * math.expm1(one.detectable):.0f} %",
            beyond=one.beyond_error,
        )
    if one.measure == LEAN_MEASURE:
        label = "Lean of the weight off the middle of the hands"
    else:
        label = one.measure if entry is None else entry.label
    unit = one.measure.rpartition("_")[2]
    digits = 1 if unit == "pct" else 0
    return MeasuredLine(
        test=title,
        label=label,
        before=_signed(one.before, unit, digits),
        after=_signed(one.after, unit, digits),
        change=f"{_signed(one.change, unit, digits)} ± {SD_95 * one.sd:.{digits}f}{_UNITS[unit]}",
        detectable=f"{one.detectable:.{digits}f}{_UNITS[unit]}",
        beyond=one.beyond_error,
    )


_UNITS = {"deg": "°", "pct": " %", "cm": " cm", "s": " s"}


def _signed(value: float, unit: str, digits: int) -> str:
    text = f"{abs(value):.{digits}f}"
    sign = "" if float(text) == 0.0 else "\N{MINUS SIGN}" if value < 0.0 else "+"
    return f"{sign}{text}{_UNITS[unit]}"
