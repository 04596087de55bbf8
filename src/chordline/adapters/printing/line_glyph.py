"""How a line that was judged is drawn: how sure the drawing may look, and what it points out."""

from chordline.adapters.printing.body_line import GlyphSize, glyph
from chordline.adapters.printing.line_shape import LineShape, read_shape
from chordline.adapters.printing.strokes import Certainty
from chordline.adapters.printing.svg import clean
from chordline.application.drawn_line import DrawnLine
from chordline.core.body.verdict import Verdict


def line_glyph(line: DrawnLine, size: GlyphSize) -> str:
    """Return the glyph of a judged line as SVG."""
    shape = read_shape(line.measurement, line.chord)
    return glyph(
        shape,
        title=f"{clean(line.title)}: body line",
        size=size,
        certainty=certainty_of(line),
        look_at=look_at_of(line, shape),
    )


def certainty_of(line: DrawnLine) -> Certainty:
    """Return how much a drawing of the line may claim."""
    if not line.measurement.trust.accepted:
        return Certainty.NEEDS_A_LOOK
    if line.bow is Verdict.CANNOT_TELL:
        return Certainty.UNDECIDED
    return Certainty.SURE


def look_at_of(line: DrawnLine, shape: LineShape | None) -> str | None:
    """Return the landmark to point out: none on a good line, none where no word can be said."""
    if shape is None or line.bow in {Verdict.ON_THE_LINE, Verdict.CANNOT_TELL}:
        return None
    return shape.widest()
