"""The four words of a verdict as four small shapes, and what else a legend has to show."""

from dataclasses import replace
from functools import cache
from typing import Final

import numpy as np

from chordline.adapters.printing.body_line import STRIP, GlyphSize, glyph, hatched_place, pair
from chordline.adapters.printing.line_shape import LineShape
from chordline.adapters.printing.strokes import Certainty
from chordline.core.body.verdict import Verdict

_MARK: Final = GlyphSize(
    lying_px=34.0,
    standing_px=34.0,
    height_px=24.0,
    pen=replace(STRIP.pen, stroke=2.2, hatch_gap=4.0),
)
_SAMPLE: Final = GlyphSize(lying_px=110.0, standing_px=84.0, height_px=36.0, pen=STRIP.pen)

#: How far the little line bows; a symbol, not a measurement.
_SYMBOL_BOW_PCT: Final = {
    Verdict.ON_THE_LINE: 0.0,
    Verdict.CLOSE: 10.0,
    Verdict.SHORT: 26.0,
    Verdict.CANNOT_TELL: 26.0,
}


@cache
def verdict_mark(verdict: Verdict) -> str:
    """Return the small shape that stands before a verdict's words, as SVG.

    The more it bows the further from the line; only *short of the line* carries the accent, and
    *cannot tell yet* is hatched.
    """
    return glyph(
        _symbol(_SYMBOL_BOW_PCT[verdict], sd_pct=0.0),
        title=verdict.value,
        size=_MARK,
        certainty=Certainty.UNDECIDED if verdict is Verdict.CANNOT_TELL else Certainty.SURE,
        look_at="hip" if verdict is Verdict.SHORT else None,
        toes=False,
    )


@cache
def doubt_mark() -> str:
    """Return the small shape for a picture whose marks need a look, as SVG."""
    return glyph(
        _symbol(26.0, sd_pct=0.0),
        title="needs a look",
        size=_MARK,
        certainty=Certainty.NEEDS_A_LOOK,
        look_at=None,
        toes=False,
    )


@cache
def untested_mark() -> str:
    """Return the small hatched place for what no test has told anything of, as SVG."""
    return hatched_place("not tested yet", "No test has told anything of it.", _MARK)


def verdict_words() -> tuple[tuple[Verdict, str], ...]:
    """Return (verdict, meaning) for everything that is said of a shape."""
    return (
        (Verdict.ON_THE_LINE, "As straight as can be told apart from straight in practice."),
        (Verdict.CLOSE, "A little short of straight."),
        (Verdict.SHORT, "Clearly short of straight."),
        (Verdict.CANNOT_TELL, "The ± is too wide for one of the three words."),
    )


def legend() -> tuple[tuple[str, str, str], ...]:
    """Return (drawing as SVG, word, explanation) for everything that a sheet draws."""
    straight, bowed = _symbol(0.0, sd_pct=0.0), _symbol(11.0, sd_pct=0.0)
    return (
        (
            glyph(straight, title="body line", size=_SAMPLE, look_at=None),
            "Body line",
            "Ankle, knee, hip, shoulder and hand, joined by one stroke. The small tick is the "
            "feet; it points to the front of the body.",
        ),
        (
            glyph(bowed, title="chord and bow", size=_SAMPLE, look_at=None),
            "Chord and bow",
            "The chord is the straight line from ankle to hand – to the shoulder where the arms "
            "are not overhead. The bow is how far the body lies from it, in % of the chord's "
            "length: + towards the front, − towards the back.",
        ),
        (
            glyph(_symbol(11.0, sd_pct=3.0), title="band", size=_SAMPLE, look_at=None),
            "Band, and ±",
            "The soft band is how surely each mark is placed, ± how surely a number is known: "
            "both hold the true place or value in 95 of 100 cases.",
        ),
        (
            glyph(bowed, title="what to look at", size=_SAMPLE, look_at="hip"),
            "What to look at",
            "The dot marks the place that bows most.",
        ),
        (
            pair(straight, bowed, title="two tests", size=_SAMPLE),
            "Two tests, one over the other",
            "The thin stroke is the test before, the thick one the test now; between them is "
            "filled what changed.",
        ),
        (
            glyph(
                bowed,
                title="not yet known",
                size=_SAMPLE,
                look_at=None,
                certainty=Certainty.UNDECIDED,
            ),
            "Not yet known",
            "Hatched: no word can be said yet. Where the stroke is broken as well, the marks "
            "themselves need a look before anything is read from them.",
        ),
    )


def _symbol(bow_pct: float, *, sd_pct: float) -> LineShape:
    """Return an invented shape that lies on its stomach, head to the right, hips high."""
    share = np.array([0.0, 0.55, 1.0, 0.55, 0.0])
    return LineShape(
        names=("malleolus", "knee", "hip", "shoulder", "hand"),
        along_pct=np.array([0.0, 27.0, 50.0, 73.0, 100.0]),
        bow_pct=-bow_pct * share,
        sd_pct=np.full(5, sd_pct),
        start_px=np.zeros(2),
        chord_px=100.0,
        headwards=np.array([1.0, 0.0]),
        frontwards=np.array([0.0, 1.0]),
    )
