"""What a gymnast's sheet says, before anyone decides how it looks."""

from dataclasses import dataclass
from typing import Protocol

from chordline.conventions import Front
from chordline.core.body.measurement import Measurement
from chordline.core.body.verdict import Verdict


@dataclass(frozen=True)
class MeasureLine:
    """One measure in words first.

    Attributes
    ----------
    name : str
        Name of the measure, e.g. ``hip_opening_deg``.
    label : str
        What a coach calls it, e.g. ``Hips``.
    verdict : Verdict or None
        None where the measure has no aligned position to be compared with.
    words : str
        The shape in words, e.g. ``closed by 18°``; never a judgement of the person.
    value, plus_minus : float
        Value, and half the width of its 95 % interval with random and systematic errors.
    unit : str
        ``deg``, ``pct``, ``cm`` or ``s``.
    reason : str
        Where the uncertainty comes from, in one sentence.
    """

    name: str
    label: str
    verdict: Verdict | None
    words: str
    value: float
    plus_minus: float
    unit: str
    reason: str


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
    jpeg : bytes
        The picture without metadata, `jpeg_width_px` × `jpeg_height_px`.
    measurement : Measurement
        Its landmark coordinates are in pixels of the full photo (`width_px`, `height_px`).
    chord : tuple of str
        The landmarks along the body from the chord's first to its last,
        e.g. ``("malleolus", "knee", "hip", "shoulder", "hand")``.
    lines : tuple of MeasureLine
    front : Front
    caution : str
        The care sentence of this test, or empty.
    """

    title: str
    reads: str
    headline: str
    jpeg: bytes
    jpeg_width_px: int
    jpeg_height_px: int
    measurement: Measurement
    chord: tuple[str, ...]
    lines: tuple[MeasureLine, ...]
    front: Front
    caution: str = ""


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
    """

    gymnast: str
    card: int | None
    screened_on: str
    photos: tuple[SheetPhoto, ...]
    left_out: tuple[str, ...]
    care: tuple[str, ...]


class SheetPrinter(Protocol):
    """Turns a sheet into a page or a paper."""

    def to_html(self, sheet: GymnastSheet) -> str:
        """Return one self-contained HTML page; nothing in it asks the network."""
        ...

    def to_pdf(self, sheet: GymnastSheet) -> bytes:
        """Return an A4 PDF."""
        ...
