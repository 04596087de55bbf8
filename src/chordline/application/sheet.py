"""What a gymnast's sheet says, before anyone decides how it looks."""

from dataclasses import dataclass
from typing import Literal, Protocol

from chordline.application.drawn_line import DrawnLine
from chordline.application.measure_line import MeasureLine
from chordline.application.sheet_findings import SheetFindings
from chordline.application.sheet_forecast import SheetForecast
from chordline.application.squad_sheet import SquadSheet
from chordline.conventions import Front
from chordline.core.body.measurement import Measurement

#: Sheets leave the coach's hands: faces are hidden on them unless somebody says otherwise.
Faces = Literal["hidden", "shown"]


@dataclass(frozen=True)
class SheetPhoto:
    """One test on the sheet.

    Attributes
    ----------
    title : str
        The test in words, e.g. ``On the stomach, arms over the ears``.
    reads : str
        What the test tells, in one sentence.
    headline : str
        The most important thing it showed, in words.
    jpeg : bytes or None
        The picture without metadata, `jpeg_width_px` × `jpeg_height_px`; None where it is not kept.
    measurement : Measurement
        Its landmark coordinates are in pixels of the full photo (`width_px`, `height_px`).
    chord : tuple of str
        The landmarks along the body from the chord's first to its last,
        e.g. ``("malleolus", "knee", "hip", "shoulder", "hand")``.
    lines : tuple of MeasureLine
    front : Front
    caution : str
        The care sentence of this test, or empty.
    faces : {'hidden', 'shown'}
        Whether faces can be told in the picture.
    """

    title: str
    reads: str
    headline: str
    jpeg: bytes | None
    jpeg_width_px: int
    jpeg_height_px: int
    measurement: Measurement
    chord: tuple[str, ...]
    lines: tuple[MeasureLine, ...]
    front: Front
    caution: str = ""
    faces: Faces = "hidden"

    @property
    def line(self) -> DrawnLine:
        """What a drawing of it needs."""
        bow = next((line.verdict for line in self.lines if line.name == "bow_max_pct"), None)
        return DrawnLine(self.title, self.measurement, self.chord, bow)


@dataclass(frozen=True)
class GymnastSheet:
    """One gymnast's screen on paper or as a page.

    Attributes
    ----------
    gymnast : str
    card : int or None
    screened_on : str
        Date in words of the reader, or empty where it is not known.
    photos : tuple of SheetPhoto
        In the order of the battery.
    left_out : tuple of str
        Photos of hers that could not be measured, each with its reason.
    care : tuple of str
        The care sentences that stand on every sheet.
    findings : SheetFindings or None
        What limits her; None where nobody has judged the pictures.
    forecast : SheetForecast or None
        How straight a handstand she can reach; None where nobody has asked.
    holds : tuple of str
        How long she held which shape, each in one sentence without its full stop.
    """

    gymnast: str
    card: int | None
    screened_on: str
    photos: tuple[SheetPhoto, ...]
    left_out: tuple[str, ...]
    care: tuple[str, ...]
    findings: SheetFindings | None = None
    forecast: SheetForecast | None = None
    holds: tuple[str, ...] = ()


class SheetPrinter(Protocol):
    """Turns a sheet into a page or a paper."""

    def to_html(self, sheet: GymnastSheet) -> str:
        """Return one self-contained HTML page; nothing in it asks the network."""
        ...

    def to_pdf(self, sheet: GymnastSheet) -> bytes:
        """Return an A4 PDF."""
        ...

    def squad_to_html(self, sheet: SquadSheet) -> str:
        """Return the squad as one self-contained page; its only links are the gymnasts' pages."""
        ...

    def squad_to_pdf(self, sheet: SquadSheet) -> bytes:
        """Return the squad as an A4 PDF, across."""
        ...
