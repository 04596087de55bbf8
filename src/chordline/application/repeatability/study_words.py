"""A study's figures in a coach's words: the ± first, what it is good for after it."""

import math
from collections.abc import Sequence

from chordline.application.repeatability.own_noise import OwnError
from chordline.application.repeatability.study_results import MeasureResult, Pair, Progress
from chordline.application.repeatability.takes import MINUTES_A_PAIR, TakeFigures, TakesOfTest
from chordline.core.progress.abstained import Abstained
from chordline.core.progress.agreement_limits import SDS_95, Bounded, Limits
from chordline.core.progress.repeatability import smallest_change_95
from chordline.core.progress.repeatability_sources import Component, Sources

_SIGNS = {"deg": "°", "pct": " %", "cm": " cm", "s": " s"}
#: What `Abstained.reason` is about, one and many.
_THINGS = {
    "too-few-subjects": ("photo", "photos"),
    "too-few-raters": ("coach", "coaches"),
    "too-few-pairs": ("pair", "pairs"),
    "one-coach": ("coach", "coaches"),
    "marked-once": ("marking of each photo", "markings of each photo"),
    "one-photo-a-test": ("photo of each test", "photos of each test"),
}
_COUNTS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")


def figure(value: float, unit: str) -> str:
    """Return a magnitude to a tenth, e.g. ``2.4°``."""
    sign = _SIGNS.get(unit, f" {unit}")
    return f"{abs(value):.1f}{sign}"


def plus_minus(sd: float, unit: str) -> str:
    """Return ± of an sd: it holds 19 of 20."""
    return f"± {figure(SDS_95 * sd, unit)}"


def interval(bounded: Bounded, unit: str) -> str:
    """Return a figure with its interval, e.g. ``1.2° (0.9 to 1.8)``."""
    return f"{figure(bounded.value, unit)} {_between(bounded)}"


def _between(bounded: Bounded) -> str:
    return f"({bounded.low:.1f} to {bounded.high:.1f})".replace("-", "\N{MINUS SIGN}")


def abstained_in_words(why: Abstained) -> str:
    """Return why there is no figure, and what it would take."""
    if why.reason == "no-spread":
        return "the photos do not differ, so nothing can be told apart by them"
    one, many = _THINGS.get(why.reason, ("reading", "readings"))
    have, need = int(why.have or 0), int(why.need or 0)
    return f"too few data: {_count(have)} {one if have == 1 else many}; need {_count(need)}"


def _count(number: int) -> str:
    return _COUNTS[number] if number < len(_COUNTS) else str(number)


def measure_in_words(one: MeasureResult) -> tuple[str, ...]:
    """Return what a measure's study says, in sentences.

    All from the sources of error, so that another coach is never told to be surer than one again.
    """
    sources, unit = one.sources, one.unit
    if isinstance(sources, Abstained):
        return (f"Cannot tell yet: {abstained_in_words(sources)}.",)
    again, anybody = again_sd(sources), anybody_sd(sources)
    said = []
    if again is not None:
        said.append(f"The same coach marks again: {plus_minus(again, unit)}.")
    if anybody is not None:
        said.append(f"Whoever of you marks: {plus_minus(anybody, unit)}.")
    said += [_offset(pair, unit) for pair in one.pairs if not pair.by_one]
    known, whose = (anybody, "of one photo") if anybody is not None else (again, "by one coach")
    if known is not None:
        size = figure(smallest_change_95(known), unit)
        said.append(f"Two readings {whose} that differ by less than {size} say the same.")
    return tuple(said)


def again_sd(sources: Sources) -> float | None:
    """Return the sd of one coach marking a photo again; None where nobody marked twice."""
    within = sources.within_coach
    return within.sd if isinstance(within, Component) else None


def anybody_sd(sources: Sources) -> float | None:
    """Return the sd of one marking by whoever it is; None with one coach."""
    parts = (sources.within_coach, sources.coach_by_photo, sources.coach_offset)
    if not isinstance(sources.coach_offset, Component):
        return None
    return math.sqrt(sum(part.variance for part in parts if isinstance(part, Component)))


def _offset(pair: Pair, unit: str) -> str:
    limits = pair.limits
    if isinstance(limits, Abstained):
        return f"{pair.first} and {pair.second}: {abstained_in_words(limits)}."
    bias = limits.bias
    if bias.low <= 0.0 <= bias.high:
        return f"{pair.first} and {pair.second}: no lasting difference seen."
    more = "more" if bias.value > 0 else "less"
    return f"{pair.first} reads {figure(bias.value, unit)} {more} than {pair.second}, on average."


def pair_title(pair: Pair) -> str:
    """Return whose markings are compared."""
    return f"{pair.first} again" if pair.by_one else f"{pair.first} and {pair.second}"


def limits_in_words(limits: Limits, unit: str) -> str:
    """Return bias and limits of agreement in a sentence."""
    return (
        f"{limits.pairs} photos; the mean difference is {_signed(limits.bias.value, unit)} "
        f"{_between(limits.bias)}, and 19 of 20 differences lie between "
        f"{_signed(limits.lower.value, unit)} and {_signed(limits.upper.value, unit)}"
    )


def _signed(value: float, unit: str) -> str:
    sign = "\N{MINUS SIGN}" if value < -0.05 else "+" if value >= 0.05 else ""
    return f"{sign}{figure(value, unit)}"


def sources_in_words(sources: Sources, unit: str) -> tuple[tuple[str, str], ...]:
    """Return (source of error, its sd with interval or why there is none)."""
    named = (
        ("One coach marking again", sources.within_coach),
        ("What coaches see differently in one photo", sources.coach_by_photo),
        ("Lasting offset between coaches", sources.coach_offset),
    )
    return tuple((label, component_in_words(one, unit)) for label, one in named)


def component_in_words(one: Component | Abstained, unit: str) -> str:
    """Return a source's sd with its interval, or why there is none."""
    if isinstance(one, Abstained):
        return abstained_in_words(one)
    low, high = one.low**0.5, one.high**0.5
    if one.cut:
        return f"too small to be seen here; below {figure(high, unit)}"
    if one.freedom == 1:
        return f"{figure(one.sd, unit)} (at least {low:.1f}; two coaches cannot say how much more)"
    return f"{figure(one.sd, unit)} ({low:.1f} to {high:.1f})"


def progress_in_words(one: Progress) -> str:
    """Return how far a coach is."""
    if one.done == one.total:
        return f"all {one.total} marked"
    return f"{one.done} of {one.total} marked"


def take_in_words(one: TakeFigures) -> str:
    """Return what a measure changes from take to take."""
    if isinstance(one.pooled, Abstained):
        return f"cannot tell yet: {abstained_in_words(one.pooled)}"
    said = f"{plus_minus(one.pooled.sd.value, one.unit)} from take to take"
    shift = one.pooled.shift
    if not shift.low <= 0.0 <= shift.high:
        said += f"; the second take shows {_signed(shift.value, one.unit)} throughout"
    return said


def takes_wanted(takes: Sequence[TakesOfTest], *, first: str) -> str:
    """Return what to photograph next so that something can be said of a test.

    Parameters
    ----------
    takes : sequence of TakesOfTest
    first : str
        The test to begin with where none has a pair.
    """
    short = [one for one in takes if one.missing]
    if not short:
        return "Every test was taken twice often enough."
    begun = [one for one in short if one.pairs]
    best = min(begun, key=lambda one: one.missing) if begun else _named(short, first)
    girls = "gymnast" if best.missing == 1 else "gymnasts"
    more = f"{_count(best.missing)} more {girls}" if best.pairs else f"{_count(10)} {girls}"
    return f"Photograph {more} twice in “{best.title}”: {minutes_in_words(best.minutes)}."


def _named(takes: Sequence[TakesOfTest], test: str) -> TakesOfTest:
    return next((one for one in takes if one.test == test), takes[0])


def minutes_in_words(minutes: float) -> str:
    """Return minutes, at least one."""
    whole = max(1, round(minutes))
    return "1 minute" if whole == 1 else f"{whole} minutes"


def error_in_words(one: OwnError) -> str:
    """Return an error before and after."""
    share = f"{100.0 * one.own_share:.0f} %"
    if one.sd == one.default_sd and one.kind in ("definition", "offset"):
        return f"stays {_sd(one.default_sd, one.unit)}: your coaches agree, but may all err alike"
    before, after = _sd(one.default_sd, one.unit), _sd(one.sd, one.unit)
    if before == after:
        return f"stays at {before}; your study counts for {share}"
    way = "wider" if one.sd > one.default_sd else "narrower"
    return f"{before} becomes {after} ({way}); your study counts for {share}"


def _sd(value: float, unit: str) -> str:
    return f"{value:.2g}{_SIGNS.get(unit, f' {unit}')}"


#: Told beside every result of takes.
TAKES_ASSUME = (
    f"About {MINUTES_A_PAIR * 60:.0f} seconds a gymnast, the phone left where it is and she "
    "standing up between the two."
)
