"""A sheet as words and drawings in reading order: what page and paper have in common."""

from dataclasses import dataclass

from chordline.adapters.printing.body_line import STRIP
from chordline.adapters.printing.crop import crop_picture
from chordline.adapters.printing.findings_view import FindingsView, view_findings
from chordline.adapters.printing.forecast_view import ForecastView, view_forecast
from chordline.adapters.printing.line_glyph import certainty_of, line_glyph, look_at_of
from chordline.adapters.printing.line_shape import read_shape
from chordline.adapters.printing.marks import doubt_mark, legend, verdict_mark, verdict_words
from chordline.adapters.printing.overlay import overlay
from chordline.adapters.printing.svg import clean
from chordline.adapters.printing.words import with_error
from chordline.application.measure_line import MeasureLine
from chordline.application.sheet import GymnastSheet, SheetPhoto
from chordline.application.sheet_forecast import handstand_among
from chordline.core.body.verdict import Verdict

NEEDS_A_LOOK = "needs a look"
NO_FINDING = "Not a finding yet: the marks in this picture need a look"
FACE_NOT_FOUND = (
    "The picture is left out: where the face is cannot be told surely, so it cannot be hidden. "
    "Look at the marks of this photo first, or print the sheet with faces shown."
)
NOT_KEPT = "The picture is not kept (any more); the drawing shows what was measured in it."


@dataclass(frozen=True)
class LineView:
    """One measure: mark and words first, then the number, then why (`brief` on paper)."""

    mark: str
    label: str
    said: str
    words: str
    number: str
    reason: str
    brief: str


@dataclass(frozen=True)
class TestView:
    """One test as it is shown.

    Attributes
    ----------
    place : str
        E.g. ``Picture 3 of 8``.
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
    findings: FindingsView | None
    forecast: ForecastView | None
    tests: tuple[TestView, ...]
    holds: tuple[str, ...]
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
    handstand = handstand_among(photo.measurement for photo in sheet.photos)
    verdicts = tuple(
        LegendView(verdict_mark(verdict), verdict.value.capitalize(), meaning)
        for verdict, meaning in verdict_words()
    )
    return SheetView(
        gymnast=clean(sheet.gymnast),
        card="" if sheet.card is None else f"Card {sheet.card}",
        screened_on=clean(sheet.screened_on),
        findings=None if sheet.findings is None else view_findings(sheet.findings, sheet.photos),
        forecast=None if sheet.forecast is None else view_forecast(sheet.forecast, handstand),
        tests=tuple(
            _view_test(photo, f"Picture {i} of {count}")
            for i, photo in enumerate(sheet.photos, start=1)
        ),
        holds=tuple(clean(one) for one in sheet.holds),
        left_out=tuple(clean(reason) for reason in sheet.left_out),
        care=tuple(clean(sentence) for sentence in sheet.care),
        legend=tuple(LegendView(*entry) for entry in legend()),
        verdicts=verdicts,
    )


def _view_test(photo: SheetPhoto, place: str) -> TestView:
    measurement = photo.measurement
    shape = read_shape(measurement, photo.chord)
    trusted = measurement.trust.accepted
    jpeg, view = crop_picture(photo)
    title = clean(photo.title)
    return TestView(
        place=place,
        title=title,
        reads=clean(photo.reads),
        headline=clean(photo.headline) if trusted else NO_FINDING,
        care=clean(photo.caution),
        picture=overlay(
            measurement,
            shape,
            title=f"{title}: photo with the body line",
            view=view,
            jpeg=jpeg,
            ground=True,
            certainty=certainty_of(photo.line),
            look_at=look_at_of(photo.line, shape),
        ),
        strip=line_glyph(photo.line, STRIP),
        aspect=(view.right - view.left) / (view.bottom - view.top),
        judged=tuple(
            view_line(line, line.verdict, trusted=trusted)
            for line in photo.lines
            if line.verdict is not None
        ),
        described=tuple(
            view_line(line, None, trusted=trusted) for line in photo.lines if line.verdict is None
        ),
        doubts=() if trusted else tuple(clean(reason) for reason in measurement.trust.reasons),
        notes=(
            *_why_no_picture(photo, jpeg),
            *(clean(note) for note in measurement.cautions),
            *(clean(reason) for reason in measurement.trust.reasons if trusted),
        ),
        trusted=trusted,
    )


def _why_no_picture(photo: SheetPhoto, jpeg: bytes | None) -> tuple[str, ...]:
    if jpeg is not None:
        return ()
    return (NOT_KEPT if photo.jpeg is None else FACE_NOT_FOUND,)


def view_line(line: MeasureLine, verdict: Verdict | None, *, trusted: bool) -> LineView:
    """Return a measure as it is shown; without a word where the picture needs a look."""
    if not trusted:
        mark, said = doubt_mark(), NEEDS_A_LOOK
    elif verdict is None:
        mark, said = "", ""
    else:
        mark, said = verdict_mark(verdict), verdict.value
    words = clean(line.words) if trusted else ""
    return LineView(
        mark=mark,
        label=clean(line.label),
        said=said,
        # What is on the line and reads so as well is said once.
        words="" if words == said else words,
        number=with_error(line.value, line.plus_minus, line.unit),
        reason=clean(line.reason),
        brief=clean(line.brief or line.reason),
    )
