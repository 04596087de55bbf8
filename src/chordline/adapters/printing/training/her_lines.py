"""A gymnast's lines as one drawing with its captions."""

from collections.abc import Sequence
from dataclasses import replace

from chordline.adapters.printing.body_line import CARD
from chordline.adapters.printing.forecast_lines import Figure, draw_handstands, figure_of_photo
from chordline.adapters.printing.line_glyph import line_glyph
from chordline.application.drawn_line import DrawnLine
from chordline.application.forecast.told import LINE_POINTS, Outline
from chordline.core.body.measurement import Measurement

#: A line and what is written under it: caption, outline, where it is stopped.
Captioned = tuple[str, Outline, str | None]


def draw_hers(
    photo: Measurement | None, photo_caption: str, lines: Sequence[Captioned], *, title: str
) -> tuple[str, int]:
    """Return handstands side by side as SVG, and how many they are; empty where there is none."""
    hers = None if photo is None else figure_of_photo(photo)
    figures = [] if hers is None else [replace(hers, caption=photo_caption, bow_max_pct=None)]
    figures += [
        Figure(caption, dict(zip(LINE_POINTS, outline, strict=True)), None, stopped_at)
        for caption, outline, stopped_at in lines
    ]
    if not figures:
        return "", 0
    return draw_handstands(figures, title=title), len(figures)


def draw_other(line: DrawnLine | None) -> str:
    """Return another line of hers as SVG, or nothing."""
    return "" if line is None else line_glyph(line, CARD)
