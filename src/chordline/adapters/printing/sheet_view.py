"""A sheet as words and drawings in reading order: what page and paper have in common."""

from dataclasses import dataclass

from chordline.adapters.printing.body_line import STRIP, glyph
from chordline.adapters.printing.crop import crop_picture
from chordline.adapters.printing.line_shape import LineShape, read_shape
from chordline.adapters.printing.marks import doubt_mark, legend, verdict_mark
from chordline.adapters.printing.overlay import overlay
from chordline.adapters.printing.strokes import Certainty
from chordline.adapters.printing.svg import clean
from chordline.adapters.printing.words import with_error
from chordline.application.sheet import GymnastSheet, MeasureLine, SheetPhoto
from chordline.core.body.verdict import Verdict

NEEDS_A_LOOK = "needs a look"
_NO_FINDING = "Not a finding yet: the marks in this picture need a look"


@dataclass(frozen=True)
class LineView:
    """One measure: mark and words first, then the number, then why."""

    mark: str
    label: str
    said: str
    words: str
    number: str
    reason: str


@dataclass(frozen=True)
class TestView:
    """One test as it is shown.

    Attributes
    ----------
    place : str
        E.g. ``3 of 8``.
    picture, strip : str
        Photo with its drawing, and the glyph, as SVG.
    aspect : float
        Width of the picture by its height.
    judged, described : tuple of LineView
        Measures that have an aligned position to be compared with, and those that have none.
    doubts : tuple of str
        Why the marks need a look; empty where the measurement is trusted.
    notes : tuple of str
        What to know about this picture.
    """

    __test__ = False

    place: str
    title: str
    reads: str
    headline: str
    care: str
    picture: str
    strip: str
    aspect: float
    judged: tuple[LineView, ...]
    described: tuple[LineView, ...]
    doubts: tuple[str, ...]
    notes: tuple[str, ...]
    trusted: bool


@dataclass(frozen=True)
class LegendView:
    """One entry of the legend."""

    drawing: str
    word: str
    meaning: str


@dataclass(frozen=True)
class SheetView:
    """The whole sheet as it is shown."""

    gymnast: str
    card: str
    screened_on: str
    tests: tuple[TestView, ...]
    left_out: tuple[str, ...]
    care: tuple[str, ...]
    legend: tuple[LegendView, ...]
    verdicts: tuple[LegendView, ...]


def view_sheet(sheet: GymnastSheet) -> SheetView:
    """Return what page and paper show of `sheet`.

    Raises
    ------
    PictureError
        Where a photo's bytes are not the picture that its record describes.
    """
    count = len(sheet.photos)
    verdicts = tuple(
        LegendView(verdict_mark(verdict), verdict.value.capitalize(), meaning)
        for verdict, meaning in (
            (Verdict.ON_THE_LINE, "As straight as can be told apart from straight in practice."),
            (Verdict.CLOSE, "A little short of straight."),
            (Verdict.SHORT, "Clearly short of straight."),
            (Verdict.CANNOT_TELL, "The ± is too wide for one of the three words."),
        )
    )
    return SheetView(
        gymnast=clean(sheet.gymnast),
        card="" if sheet.card is None else f"Card {sheet.card}",
        screened_on=clean(sheet.screened_on),
        tests=tuple(
            _view_test(photo, f"{i} of {count}") for i, photo in enumerate(sheet.photos, start=1)
        ),
        left_out=tuple(clean(reason) for reason in sheet.left_out),
        care=tuple(clean(sentence) for sentence in sheet.care),
        legend=tuple(LegendView(*entry) for entry in legend()),
        verdicts=verdicts,
    )


def _view_test(photo: SheetPhoto, place: str) -> TestView:
    measurement = photo.measurement
    shape = read_shape(measurement, photo.chord)
    trusted = measurement.trust.accepted
    certainty = _certainty(photo)
    look_at = _look_at(photo, shape)
    jpeg, view = crop_picture(photo)
    title = clean(photo.title)
    return TestView(
        place=place,
        title=title,
        reads=clean(photo.reads),
        headline=clean(photo.headline) if trusted else _NO_FINDING,
        care=clean(photo.caution),
        picture=overlay(
            measurement,
            shape,
            title=f"{title}: photo with the body line",
            view=view,
            jpeg=jpeg,
            certainty=certainty,
            look_at=look_at,
        ),
        strip=glyph(
            shape, title=f"{title}: body line", size=STRIP, certainty=certainty, look_at=look_at
        ),
        aspect=(view.right - view.left) / (view.bottom - view.top),
        judged=tuple(
            _view_line(line, line.verdict, trusted=trusted)
            for line in photo.lines
            if line.verdict is not None
        ),
        described=tuple(
            _view_line(line, None, trusted=trusted) for line in photo.lines if line.verdict is None
        ),
        doubts=() if trusted else tuple(clean(reason) for reason in measurement.trust.reasons),
        notes=(
            *(clean(note) for note in measurement.cautions),
            *(clean(reason) for reason in measurement.trust.reasons if trusted),
        ),
        trusted=trusted,
    )


def _view_line(line: MeasureLine, verdict: Verdict | None, *, trusted: bool) -> LineView:
    if not trusted:
        mark, said = doubt_mark(), NEEDS_A_LOOK
    elif verdict is None:
        mark, said = "", ""
    else:
        mark, said = verdict_mark(verdict), verdict.value
    return LineView(
        mark=mark,
        label=clean(line.label),
        said=said,
        words=clean(line.words) if trusted else "",
        number=with_error(line.value, line.plus_minus, line.unit),
        reason=clean(line.reason),
    )


def _bow_verdict(photo: SheetPhoto) -> Verdict | None:
    """Return what was said about the whole line's largest bow."""
    return next((line.verdict for line in photo.lines if line.name == "bow_max_pct"), None)


def _certainty(photo: SheetPhoto) -> Certainty:
    if not photo.measurement.trust.accepted:
        return Certainty.NEEDS_A_LOOK
    if _bow_verdict(photo) is Verdict.CANNOT_TELL:
        return Certainty.UNDECIDED
    return Certainty.SURE


def _look_at(photo: SheetPhoto, shape: LineShape | None) -> str | None:
    """Return the landmark to point out: none on a good line, none where no word can be said."""
    if shape is None or _bow_verdict(photo) in {Verdict.ON_THE_LINE, Verdict.CANNOT_TELL}:
        return None
    return shape.widest()
