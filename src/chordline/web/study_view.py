"""What the pages of studies show, put together from the records."""

from collections.abc import Sequence
from dataclasses import dataclass

from chordline.adapters.printing.agreement_chart import draw_agreement
from chordline.application.repeatability.own_noise import OwnError
from chordline.application.repeatability.study_results import (
    JOINTS,
    MeasureResult,
    Pair,
    StudyResults,
)
from chordline.application.repeatability.study_words import (
    abstained_in_words,
    error_in_words,
    interval,
    limits_in_words,
    measure_in_words,
    pair_title,
    sources_in_words,
    take_in_words,
)
from chordline.application.repeatability.takes import TakesOfTest
from chordline.catalogue.schema import Catalogue
from chordline.core.progress.abstained import Abstained
from chordline.core.progress.repeatability import Repeatability

_SIGNS = {"deg": "°", "pct": " %", "cm": " cm"}


@dataclass(frozen=True)
class PairShown:
    """Two series of markings: whose, in words, and drawn where there is enough."""

    title: str
    words: str
    drawing: str


@dataclass(frozen=True)
class Figures:
    """The figures of one table of readings.

    Attributes
    ----------
    title : str
    none : str
        Why there are none; else empty.
    sem, mdc : str
    icc : tuple of (form, value with interval)
    left_out : int
    """

    title: str
    none: str
    sem: str = ""
    mdc: str = ""
    icc: tuple[tuple[str, str], ...] = ()
    left_out: int = 0


@dataclass(frozen=True)
class MeasureShown:
    """What a study says of one measure."""

    name: str
    label: str
    joint: bool
    photos: int
    sentences: tuple[str, ...]
    tells: bool
    pairs: tuple[PairShown, ...]
    sources: tuple[tuple[str, str], ...]
    figures: tuple[Figures, ...]


@dataclass(frozen=True)
class ErrorShown:
    """One error before and after."""

    where: str
    label: str
    words: str


def show_measures(results: StudyResults) -> tuple[MeasureShown, ...]:
    """Return every measure of a study as its page shows it."""
    return tuple(_measure(one) for one in results.measures)


def _measure(one: MeasureResult) -> MeasureShown:
    known = not isinstance(one.sources, Abstained)
    return MeasureShown(
        name=one.name,
        label=one.label,
        joint=one.name in JOINTS,
        photos=one.photos,
        sentences=measure_in_words(one),
        tells=known,
        pairs=tuple(_pair(pair, one) for pair in one.pairs) if known else (),
        sources=()
        if isinstance(one.sources, Abstained)
        else sources_in_words(one.sources, one.unit),
        figures=(
            _figures("Between coaches", one.between, one.unit),
            *(_figures(f"{coach} again", said, one.unit) for coach, said in one.within.items()),
        ),
    )


def _pair(pair: Pair, one: MeasureResult) -> PairShown:
    title = pair_title(pair)
    if isinstance(pair.limits, Abstained):
        return PairShown(title, abstained_in_words(pair.limits), "")
    words = limits_in_words(pair.limits, one.unit)
    drawing = draw_agreement(
        pair.firsts,
        pair.seconds,
        pair.limits,
        sign=_SIGNS.get(one.unit, ""),
        title=f"{one.label}: {title}",
        desc=f"Differences between two markings over their mean: {words}.",
    )
    return PairShown(title, words, drawing)


def _figures(title: str, said: Repeatability | Abstained, unit: str) -> Figures:
    if isinstance(said, Abstained):
        return Figures(title, abstained_in_words(said))
    return Figures(
        title=title,
        none="",
        sem=interval(said.sem, unit),
        mdc=interval(said.mdc95, unit),
        icc=tuple(
            (form, f"{_plain(icc.value)} ({_plain(icc.low)} to {_plain(icc.high)})")
            for form, icc in said.agreement.icc.items()
        ),
        left_out=said.agreement.left_out,
    )


def _plain(value: float) -> str:
    if abs(value) == float("inf"):
        return "no limit"
    return f"{value:.2f}".replace("-", "\N{MINUS SIGN}")


def show_takes(
    takes: Sequence[TakesOfTest],
) -> tuple[tuple[TakesOfTest, tuple[tuple[str, str], ...]], ...]:
    """Return the tests that were taken twice, each with its measures in words."""
    return tuple(
        (one, tuple((each.label, take_in_words(each)) for each in one.measures))
        for one in takes
        if one.pairs
    )


def show_errors(errors: Sequence[OwnError], catalogue: Catalogue) -> tuple[ErrorShown, ...]:
    """Return errors before and after; those of takes under their tests' titles."""
    titles = {name: test.title for name, test in catalogue.tests.items()}
    where = {
        "marking": "Marks set by hand",
        "definition": "Marks set by hand",
        "offset": "What all photos of a screen share",
    }
    return tuple(
        ErrorShown(
            where=where.get(one.kind) or titles.get(one.test, one.test),
            label=one.label if one.kind != "take" else f"{one.label}, from take to take",
            words=error_in_words(one),
        )
        for one in errors
    )
