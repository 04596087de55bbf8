"""What limits her, as words and drawings in reading order: what page and paper have in common."""

from collections.abc import Sequence
from dataclasses import dataclass

from chordline.adapters.printing.body_line import PAIR, ROW, pair
from chordline.adapters.printing.line_glyph import line_glyph
from chordline.adapters.printing.line_shape import read_shape
from chordline.adapters.printing.marks import untested_mark, verdict_mark
from chordline.adapters.printing.svg import clean
from chordline.application.findings import CapacityFinding, LimiterFinding, Reason
from chordline.application.sheet import SheetPhoto
from chordline.application.sheet_findings import SheetFindings
from chordline.application.summary import (
    NO_LIMITER,
    minutes_in_words,
    percent_in_words,
    sureness_in_words,
)
from chordline.core.body.points import CHORD_TO_SHOULDER
from chordline.core.body.verdict import Verdict

NOTHING_LEFT = "Every test that may be done was done."


@dataclass(frozen=True)
class ShownAt:
    """Which picture shows something; `number` 0 where none does."""

    number: int
    glyph: str


@dataclass(frozen=True)
class ReasonView:
    """One reason: its sentence, and the picture that shows it."""

    sentence: str
    shown: ShownAt


@dataclass(frozen=True)
class LimiterView:
    """One limiter: words, how sure in words and in per cent, ±, reasons, work."""

    label: str
    words: str
    sure: str
    percent: str
    known_to: str
    what: str
    work: str
    reasons: tuple[ReasonView, ...]


@dataclass(frozen=True)
class OpenView:
    """What cannot be told yet, and the test that would decide it; `ask` may be empty."""

    mark: str
    state: str
    ask: str


@dataclass(frozen=True)
class ChangeView:
    """What else in the body changed between a base test and a test.

    `drawing` is empty where the line of ankle, knee, hip and shoulder does not show it; `before`
    and `now` are the titles of the two tests.
    """

    drawing: str
    sentences: tuple[str, ...]
    before: str
    now: str
    shown: tuple[int, ...]


@dataclass(frozen=True)
class CapacityView:
    """One capacity: mark, words, ±."""

    mark: str
    label: str
    said: str
    words: str
    known_to: str


@dataclass(frozen=True)
class StopView:
    """A reported sign; `left_out` are the tests that are not to be done."""

    label: str
    advice: str
    left_out: tuple[str, ...]


@dataclass(frozen=True)
class NextView:
    """A test for next time; `lead` says how much it matters."""

    lead: str
    title: str
    reads: str
    how: str
    takes: str


@dataclass(frozen=True)
class FindingsView:
    """All findings as they are shown."""

    stops: tuple[StopView, ...]
    cautions: tuple[str, ...]
    limiters: tuple[LimiterView, ...]
    no_limiter: str
    open: tuple[OpenView, ...]
    changes: tuple[ChangeView, ...]
    next: NextView | None
    no_next: str
    then: tuple[str, ...]
    capacities: tuple[CapacityView, ...]
    looks: tuple[str, ...]
    put_aside: tuple[str, ...]


def view_findings(told: SheetFindings, photos: Sequence[SheetPhoto]) -> FindingsView:
    """Return what page and paper show of the findings; `photos` are the sheet's pictures."""
    found = told.found
    pictures = {
        (photo.measurement.photo, photo.measurement.test): (number, photo)
        for number, photo in enumerate(photos, start=1)
    }
    return FindingsView(
        stops=tuple(
            StopView(clean(stop.label), clean(stop.advice), tuple(map(clean, stop.left_out)))
            for stop in told.stops
        ),
        cautions=tuple(map(clean, found.cautions)),
        limiters=tuple(
            _view_limiter(one, told.known_to[one.capacity], pictures) for one in found.limiters
        ),
        no_limiter="" if found.limiters else NO_LIMITER,
        open=tuple(
            OpenView(verdict_mark(Verdict.CANNOT_TELL), clean(one.state), clean(one.ask))
            for one in told.open
        ),
        changes=_view_changes(told, pictures),
        next=_view_next(told),
        no_next=NOTHING_LEFT,
        then=tuple(map(clean, told.then)),
        capacities=tuple(_view_capacity(one, told.known_to[one.name]) for one in found.capacities),
        looks=tuple(map(clean, found.not_used)),
        put_aside=tuple(map(clean, told.put_aside)),
    )


def _view_next(told: SheetFindings) -> NextView | None:
    offer = told.offer
    if offer is None:
        return None
    return NextView(
        lead="When there is time" if told.found.next_test is None else "Next time, first",
        title=clean(offer.title),
        reads=clean(told.offer_reads),
        how=clean(offer.how),
        takes=minutes_in_words(offer.minutes),
    )


#: Changes that the line of ankle, knee, hip and shoulder shows.
_SEEN_IN_THE_LINE = ("hip_opening_deg", "knee_opening_deg", "bow_hip_pct", "bow_knee_pct")

_Pictures = dict[tuple[str, str], tuple[int, SheetPhoto]]


def _view_limiter(one: LimiterFinding, known_to: str, pictures: _Pictures) -> LimiterView:
    return LimiterView(
        label=clean(one.label),
        words=clean(one.words),
        sure=sureness_in_words(one.p),
        percent=percent_in_words(one.p),
        known_to=known_to,
        what=clean(f"{one.what[0].upper()}{one.what[1:]}."),
        work=clean(one.work),
        reasons=tuple(_view_reason(reason, pictures) for reason in one.reasons),
    )


def _view_reason(reason: Reason, pictures: _Pictures) -> ReasonView:
    shown = pictures.get((reason.source, reason.test))
    if shown is None:
        return ReasonView(clean(reason.sentence), ShownAt(0, ""))
    number, photo = shown
    return ReasonView(clean(reason.sentence), ShownAt(number, line_glyph(photo.line, ROW)))


def _view_changes(told: SheetFindings, pictures: _Pictures) -> tuple[ChangeView, ...]:
    """Return one drawing for each two pictures, with every change between them."""
    together: dict[tuple[tuple[str, str], tuple[str, str]], list[tuple[str, str]]] = {}
    for change, sentence in told.found.compensations:
        takes = (change.base_source, change.base), (change.test_source, change.test)
        together.setdefault(takes, []).append((change.measure, clean(sentence)))
    views = []
    for (before, now), changes in together.items():
        base, test = pictures.get(before), pictures.get(now)
        seen = any(measure in _SEEN_IN_THE_LINE for measure, _ in changes)
        views.append(
            ChangeView(
                drawing=_draw_pair(base[1], test[1])
                if seen and base is not None and test is not None
                else "",
                sentences=tuple(sentence for _, sentence in changes),
                before="" if base is None else clean(base[1].title),
                now="" if test is None else clean(test[1].title),
                shown=tuple(one[0] for one in (base, test) if one is not None),
            )
        )
    return tuple(views)


def _draw_pair(base: SheetPhoto, test: SheetPhoto) -> str:
    """Return the two lines over one another, or nothing where they share too little of the body.

    Without the arms: where they lie is the test itself, what the body does meanwhile is the change.
    """
    before = read_shape(base.measurement, CHORD_TO_SHOULDER)
    now = read_shape(test.measurement, CHORD_TO_SHOULDER)
    if before is None or now is None:
        return ""
    title = f"{clean(test.title)}, compared with: {clean(base.title)}"
    try:
        return pair(before, now, title=title, size=PAIR)
    except ValueError:
        return ""


def _view_capacity(one: CapacityFinding, known_to: str) -> CapacityView:
    if not one.tested:
        return CapacityView(untested_mark(), clean(one.label), "", clean(one.words), "")
    return CapacityView(
        mark=verdict_mark(one.verdict),
        label=clean(one.label),
        said=one.verdict.value,
        words=clean(one.words),
        known_to=known_to,
    )
