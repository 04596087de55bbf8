"""One page about what changed between a gymnast's screens."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

from chordline.application.findings_words import unit_of_capacity
from chordline.application.progress.told import (
    CapacityProgress,
    HerRetest,
    Progress,
    Since,
    Standing,
)
from chordline.application.tongue import Tongue, mark
from chordline.application.training.words import capacity_label
from chordline.application.wording import SD_95
from chordline.catalogue.schema import Catalogue
from chordline.core.progress.retest import Why

_SURE_BEYOND: Final = 0.99

CARE: Final = (
    mark("chordline is not a medical device. It describes shapes and never diagnoses."),
    mark(
        "A change on one side only, pain, numbness, back pain on arching or wrist pain: stop, and "
        "let a licensed clinician look at it."
    ),
    mark("Never force a stretch on a child. Growth can take range away for a while."),
)


@dataclass(frozen=True)
class SheetPicture:
    """A screen's picture of the test that is shown: its day, and whether it is the line only."""

    day: date
    kept: bool


@dataclass(frozen=True)
class PairTold:
    """How two pictures were made comparable.

    Attributes
    ----------
    test : str
        Key of the catalogue.
    before, after : SheetPicture
    mirrored : bool
    standing : bool
    """

    test: str
    before: SheetPicture
    after: SheetPicture
    mirrored: bool
    standing: bool


@dataclass(frozen=True)
class ToldChange:
    """A change in words: of what, how much since when, and the answer."""

    label: str
    words: str
    answer: str


@dataclass(frozen=True)
class ProgressSheet:
    """One page, in the reader's language.

    Attributes
    ----------
    language, title, kicker, gymnast, facts : str
    changed_heading : str
    changes : tuple of ToldChange
        Those that are real.
    none_words : str
        Said where none is, or where she has one screen; may be empty.
    same, open : str
        What did not change worth knowing, and what is not yet known; may be empty.
    pair_heading, before_caption, after_caption : str
        Empty where no pair is shown.
    pair_notes : tuple of str
    next_heading, next_day, next_words : str
    small_print : tuple of str
    care : tuple of str
    standing : bool
        Whether the pictures are taller than wide.
    """

    language: str
    title: str
    kicker: str
    gymnast: str
    facts: str
    changed_heading: str
    changes: tuple[ToldChange, ...]
    none_words: str
    same: str
    open: str
    pair_heading: str
    before_caption: str
    after_caption: str
    pair_notes: tuple[str, ...]
    next_heading: str
    next_day: str
    next_words: str
    small_print: tuple[str, ...]
    care: tuple[str, ...]
    standing: bool


def make_progress_sheet(
    progress: Progress,
    pair: PairTold | None,
    *,
    club: str,
    sure: float,
    catalogue: Catalogue,
    tongue: Tongue,
) -> ProgressSheet:
    """Return the sheet.

    Parameters
    ----------
    progress : Progress
    pair : PairTold or None
    club : str
    sure : float
        Probability from which on a change is called real.
    catalogue : Catalogue
    tongue : Tongue
    """
    real = _real(progress.capacities)
    moved = {since.change.capacity for since in real}
    screened = [tongue.day(one.day) for one in progress.screens]
    return ProgressSheet(
        language=tongue.code,
        title=tongue.say("What changed: {gymnast}", gymnast=progress.gymnast.name),
        kicker=tongue.say("What changed"),
        gymnast=progress.gymnast.name,
        facts=f"{club} · {tongue.day(progress.day)}",
        changed_heading=tongue.say("Between her screens"),
        changes=tuple(_told(one, catalogue, tongue) for one in real),
        none_words=_none_words(progress, bool(real), screened, tongue),
        same=_named(
            mark("No change worth knowing: {names}."),
            _standing(progress, Standing.NO, moved),
            catalogue,
            tongue,
        ),
        open=_named(
            mark("Not yet known: {names}."),
            _standing(progress, Standing.NOT_YET_KNOWN, moved),
            catalogue,
            tongue,
        ),
        pair_heading="" if pair is None else _test(pair.test, catalogue, tongue),
        before_caption="" if pair is None else _caption(mark("Before"), pair.before, tongue),
        after_caption="" if pair is None else _caption(mark("After"), pair.after, tongue),
        pair_notes=() if pair is None else _pair_notes(pair, tongue),
        next_heading=tongue.say("Next screen"),
        next_day=""
        if progress.retest is None
        else _next_day(progress.retest, progress.day, tongue),
        next_words=""
        if progress.retest is None
        else _next_words(progress.retest, catalogue, tongue),
        small_print=_small_print(sure, tongue),
        care=tuple(tongue.say(one) for one in CARE),
        standing=pair is not None and pair.standing,
    )


def _real(capacities: Sequence[CapacityProgress]) -> list[Since]:
    """Return the real changes: since the first screen, and since the one before where it is."""
    found: dict[tuple[str, date], Since] = {}
    for one in capacities:
        for since in (one.since_first, one.since_last):
            if since is not None and since.standing in (Standing.BETTER, Standing.WORSE):
                found[one.name, since.day] = since
    return list(found.values())


def _standing(progress: Progress, standing: Standing, moved: set[str]) -> list[str]:
    return [
        one.name
        for one in progress.capacities
        if one.name not in moved and one.since_last is not None
        if one.since_last.standing is standing
    ]


def _told(since: Since, catalogue: Catalogue, tongue: Tongue) -> ToldChange:
    change = since.change
    words = {
        (False, True): mark("{size} less missing than on {day}"),
        (False, False): mark("{size} more missing than on {day}"),
        (True, True): mark("held {size} longer than on {day}"),
        (True, False): mark("held {size} shorter than on {day}"),
    }
    timed = unit_of_capacity(change.capacity) == "s"
    if timed:
        share = 100.0 * abs(math.expm1(change.gain))
        spread = 100.0 * math.exp(change.gain) * SD_95 * change.sd
        size = tongue.plus_minus(share, spread, "pct")
    else:
        unit = unit_of_capacity(change.capacity)
        size = tongue.plus_minus(abs(change.gain), SD_95 * change.sd, unit)
    p = change.p_better if since.standing is Standing.BETTER else 1.0 - change.p_better
    return ToldChange(
        label=capacity_label(change.capacity, catalogue, tongue),
        words=tongue.say(words[timed, change.gain >= 0.0], size=size, day=tongue.day(since.day)),
        answer=tongue.say("real change: yes ({percent})", percent=_percent(p, tongue)),
    )


def _none_words(progress: Progress, any_real: bool, screened: Sequence[str], tongue: Tongue) -> str:
    if not screened:
        return tongue.say("No screen counts yet. Progress begins with the first one.")
    if len(screened) == 1:
        return tongue.say("One screen only, of {day}: a change needs two.", day=screened[0])
    if any_real:
        return ""
    return tongue.say(
        "No change is certain yet between {first} and {last}.",
        first=tongue.day(progress.screens[-2].day),
        last=screened[-1],
    )


def _named(text: str, names: Sequence[str], catalogue: Catalogue, tongue: Tongue) -> str:
    if not names:
        return ""
    labels = [capacity_label(name, catalogue, tongue) for name in names]
    return tongue.say(text, names=tongue.joined(labels))


def _test(name: str, catalogue: Catalogue, tongue: Tongue) -> str:
    entry = catalogue.tests.get(name)
    return name if entry is None else tongue.word("test", entry.title)


def _caption(when: str, picture: SheetPicture, tongue: Tongue) -> str:
    said = tongue.headed(tongue.say(when), tongue.day(picture.day))
    if picture.kept:
        return said
    return tongue.say("{said} (line only)", said=said)


def _pair_notes(pair: PairTold, tongue: Tongue) -> tuple[str, ...]:
    notes = [
        tongue.say(
            "Both are at one scale. The broken line over the later picture is the earlier line."
        )
    ]
    notes += [
        tongue.say("No picture of {day} is kept.", day=tongue.day(one.day))
        for one in (pair.before, pair.after)
        if not one.kept
    ]
    if pair.mirrored:
        notes.append(
            tongue.say("The earlier picture is mirrored: it was taken from her other side.")
        )
    return tuple(notes)


def _next_day(retest: HerRetest, day: date, tongue: Tongue) -> str:
    if retest.is_due(day):
        return tongue.say("Due since {day}", day=tongue.day(retest.due))
    return tongue.say("From {day} on", day=tongue.day(retest.due))


def _next_words(retest: HerRetest, catalogue: Catalogue, tongue: Tongue) -> str:
    if retest.capacity is None or retest.why is Why.LATEST:
        return tongue.say("It is time in any case: nothing planned is expected to show sooner.")
    label = capacity_label(retest.capacity, catalogue, tongue)
    if retest.why is Why.CHANGE:
        words = tongue.say("what the plan is expected to change by then would be seen")
    else:
        words = tongue.say("what the tests told has worn off by then")
    return tongue.headed(label, words) + "."


def _percent(p: float, tongue: Tongue) -> str:
    if p > _SURE_BEYOND:
        return tongue.say("over {percent}", percent=tongue.amount(99.0, "pct"))
    return tongue.amount(100.0 * p, "pct")


def _small_print(sure: float, tongue: Tongue) -> tuple[str, ...]:
    return (
        tongue.say(
            "A change is called real from a probability of {percent} on, from measures alone. "
            "Whether the training did it, these numbers cannot say.",
            percent=tongue.amount(100.0 * sure, "pct"),
        ),
    )
