"""The body-line glyph: small in a table, larger on a card, and as a pair of two tests."""

from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from chordline.adapters.printing.line_shape import LineShape, over_common_chord
from chordline.adapters.printing.palette import LIGHT
from chordline.adapters.printing.strokes import (
    Certainty,
    Pen,
    Place,
    band_outline,
    draw_shape,
    filled,
    hairline,
    hatched,
    shape_points,
    stroked,
)
from chordline.adapters.printing.svg import Points, picture
from chordline.adapters.printing.words import NOTHING_FOUND, describe_shape


@dataclass(frozen=True)
class GlyphSize:
    """How large a glyph is drawn [CSS px].

    Attributes
    ----------
    lying_px, standing_px : float
        Length of the chord where it lies and where it stands. All glyphs of one size share them:
        the same bow is as many pixels for every gymnast.
    height_px : float
        Least height where the chord lies; a greater bow gets the height it needs.
    pen : Pen
    """

    lying_px: float
    standing_px: float
    height_px: float
    pen: Pen


def _pen(stroke: float, hairline: float, dot: float) -> Pen:
    return Pen(stroke, hairline, dot, hatch_gap=3.2 * stroke, halo=0.0, palette=LIGHT, themed=True)


ROW: Final = GlyphSize(lying_px=88.0, standing_px=21.0, height_px=24.0, pen=_pen(1.6, 0.8, 0.0))
STRIP: Final = GlyphSize(lying_px=190.0, standing_px=84.0, height_px=48.0, pen=_pen(2.2, 1.0, 0.0))
TABLE: Final = GlyphSize(lying_px=88.0, standing_px=60.0, height_px=24.0, pen=_pen(1.6, 0.8, 0.0))
CARD: Final = GlyphSize(lying_px=186.0, standing_px=186.0, height_px=72.0, pen=_pen(2.4, 1.0, 2.4))
PAIR: Final = GlyphSize(lying_px=186.0, standing_px=120.0, height_px=34.0, pen=_pen(2.2, 1.0, 0.0))

WIDEST: Final = "widest"


def glyph(
    shape: LineShape | None,
    *,
    title: str,
    size: GlyphSize = ROW,
    certainty: Certainty = Certainty.SURE,
    look_at: str | None = WIDEST,
    toes: bool = True,
) -> str:
    """Return the glyph as SVG: the chord level where she lies, upright where she stands.

    Parameters
    ----------
    shape : LineShape or None
        None draws a hatched place without a body.
    title : str
        Accessible name, in words.
    size : GlyphSize
    certainty : Certainty
    look_at : str or None
        Landmark to point out; `WIDEST` for the one that surely bows most.
    toes : bool
        Whether a tick shows which end the feet are and where the front looks.

    Returns
    -------
    str
        Colours are print-safe attributes; the classes of `palette.css_theme` recolour them.
    """
    if shape is None:
        return hatched_place(title, NOTHING_FOUND, size)
    place, view_box = _settle((shape,), shape, size)
    marked = shape.widest() if look_at == WIDEST else look_at
    return picture(
        *(_toes(shape, place, size.pen) if toes else ()),
        *draw_shape(shape, place, size.pen, certainty=certainty, look_at=marked),
        view_box=view_box,
        title=title,
        desc=describe_shape(shape, doubtful=certainty is Certainty.NEEDS_A_LOOK),
        class_="cl-glyph",
    )


def pair(
    base: LineShape,
    test: LineShape,
    *,
    title: str,
    size: GlyphSize = CARD,
) -> str:
    """Return base and test over one another; the filled difference is what changed.

    Both are laid on the longest chord that they share (feet to shoulders where only one has the
    arms overhead) and drawn the way the test's picture lies. The base is the thin stroke.

    Raises
    ------
    ValueError
        Where they share fewer than two landmarks.
    """
    common = tuple(name for name in test.names if name in base.names)
    if len(common) < 2 or common[0] != test.names[0] or common[0] != base.names[0]:
        msg = "Two tests can be drawn as a pair only where they share the feet and one landmark."
        raise ValueError(msg)
    of_base = over_common_chord(base, common[-1])
    of_test = over_common_chord(test, common[-1])
    place, view_box = _settle((of_base, of_test), of_test, size)
    base_points, test_points = place(shape_points(of_base)), place(shape_points(of_test))
    in_base = base_points[[of_base.names.index(name) for name in common]]
    in_test = test_points[[of_test.names.index(name) for name in common]]
    pen = replace(size.pen, dot=0.0)
    return picture(
        filled(np.vstack([in_base, in_test[::-1]]), pen, "accent_wash", opacity=1.0),
        filled(place(band_outline(of_base)), pen, "band", opacity=0.35),
        filled(place(band_outline(of_test)), pen, "band", opacity=0.6),
        hairline(place(np.array([[0.0, 0.0], [100.0, 0.0]])), pen),
        stroked(base_points, pen, soft=True),
        stroked(test_points, pen),
        view_box=view_box,
        title=title,
        desc=(f"Before: {describe_shape(of_base)} Now: {describe_shape(of_test)}"),
        class_="cl-glyph",
    )


def _settle(
    shapes: tuple[LineShape, ...], like: LineShape, size: GlyphSize
) -> tuple[Place, tuple[float, float, float, float]]:
    """Return where points go, and the view box, with the chord turned to the nearest axis."""
    chord_px = size.standing_px if like.upright else size.lying_px
    headwards, frontwards = _nearest_axis(like.headwards), _nearest_axis(like.frontwards)

    def turn(points: Points) -> Points:
        across = points[:, :1] * headwards + points[:, 1:] * frontwards
        return np.asarray(across * chord_px / 100.0)

    room = 2.0 * size.pen.stroke + 1.7 * size.pen.dot
    outlines = [turn(band_outline(shape)) for shape in shapes] + [turn(_toe_tip(shapes[-1], size))]
    corners = np.vstack(outlines)
    low, high = corners.min(axis=0) - room, corners.max(axis=0) + room
    # Across the chord the box is centred on it, so that the chords of a column line up; a great
    # bow moves it no further than it must.
    across = 0 if like.upright else 1
    extent = max(size.height_px, high[across] - low[across])
    low[across] = min(max(-extent / 2.0, high[across] - extent), low[across])
    high[across] = low[across] + extent
    return (lambda points: turn(points) - low), (0.0, 0.0, *(high - low).tolist())


def _nearest_axis(vector: Points) -> Points:
    axis = np.zeros(2)
    most = int(np.argmax(np.abs(vector)))
    axis[most] = np.sign(vector[most])
    return axis


def _toe_tip(shape: LineShape, size: GlyphSize) -> Points:
    chord_px = size.standing_px if shape.upright else size.lying_px
    reach = 100.0 * 2.6 * size.pen.stroke / chord_px
    return np.array([[-0.45 * reach, reach]])


def _toes(shape: LineShape, place: Place, pen: Pen) -> list[str]:
    """Return a short tick at the feet: which end they are, and which way the front looks."""
    tip = place(np.array([[0.0, 0.0]])) - place(np.array([[1.0, 0.0]]))
    front = place(np.array([[0.0, 1.0]])) - place(np.array([[0.0, 0.0]]))
    start = place(shape_points(shape)[:1])
    reach = 2.6 * pen.stroke
    end = start + reach * (front / np.hypot(*front[0]) + 0.45 * tip / np.hypot(*tip[0]))
    return [stroked(np.vstack([start, end]), pen)]


def hatched_place(title: str, desc: str, size: GlyphSize) -> str:
    """Return a hatched place without a body, as SVG: nothing is known."""
    width, height = size.lying_px, size.height_px
    outline = np.array([[0.0, 0.25], [1.0, 0.25], [1.0, 0.75], [0.0, 0.75]]) * [width, height]
    return picture(
        hatched(outline, size.pen),
        view_box=(0.0, 0.0, width, height),
        title=title,
        desc=desc,
        class_="cl-glyph",
    )
