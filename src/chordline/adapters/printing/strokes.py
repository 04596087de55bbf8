"""The one drawing of a body line, whatever it is drawn on: paper, card or photo."""

from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum

import numpy as np

from chordline.adapters.printing.line_shape import Z_95, LineShape
from chordline.adapters.printing.palette import Palette
from chordline.adapters.printing.svg import Points, element, hatch_path, path_of

#: Maps (n, 2) points (along, bow) in % of the chord to the coordinates of a drawing.
Place = Callable[[Points], Points]


class Certainty(Enum):
    """How much a drawing may claim.

    SURE draws the bow filled. UNDECIDED hatches it: the marks are good, but no word can be said
    yet. NEEDS_A_LOOK hatches it and breaks the stroke: the marks themselves are in doubt, so no
    value is written and nothing is pointed out.
    """

    SURE = "sure"
    UNDECIDED = "undecided"
    NEEDS_A_LOOK = "needs a look"


@dataclass(frozen=True)
class Pen:
    """Line weights and colours, in the units of the drawing.

    Attributes
    ----------
    stroke, hairline : float
        Weight of the body's stroke, and of chord, hatch and bow distances.
    dot : float
        Radius of a landmark's dot; the one to look at is larger. 0 = only that one is drawn.
    hatch_gap : float
    halo : float
        Pale rim on either side of every line; 0 on paper.
    palette : Palette
    themed : bool
        Whether a page's theme may recolour it (the classes of `palette.css_theme`).
    """

    stroke: float
    hairline: float
    dot: float
    hatch_gap: float
    halo: float
    palette: Palette
    themed: bool


def shape_points(shape: LineShape) -> Points:
    """Return the (n, 2) landmarks (along, bow) in % of the chord."""
    return np.column_stack([shape.along_pct, shape.bow_pct])


def band_outline(shape: LineShape) -> Points:
    """Return the closed (2n, 2) outline of the band of uncertainty, in % of the chord.

    At each landmark it is 95 % of the landmark's own error wide to either side, perpendicular to
    the chord. It has no least width: where the error is small the band disappears.
    """
    half = Z_95 * shape.sd_pct
    front = np.column_stack([shape.along_pct, shape.bow_pct + half])
    back = np.column_stack([shape.along_pct, shape.bow_pct - half])
    return np.vstack([front, back[::-1]])


def draw_shape(
    shape: LineShape, place: Place, pen: Pen, *, certainty: Certainty, look_at: str | None
) -> tuple[str, ...]:
    """Return the drawing, from the lowest layer to the top.

    Parameters
    ----------
    shape : LineShape
    place : callable
        From % of the chord to coordinates of the drawing.
    pen : Pen
    certainty : Certainty
    look_at : str or None
        The landmark to point out.
    """
    points = place(shape_points(shape))
    layers: list[str] = []
    if certainty is not Certainty.SURE:
        layers.append(hatched(points, pen))
    else:
        layers.append(filled(points, pen, "wash", opacity=0.34 if pen.halo else 1.0))
    layers.append(filled(place(band_outline(shape)), pen, "band", opacity=0.6))
    layers.append(hairline(points[[0, -1]], pen))
    doubtful = certainty is Certainty.NEEDS_A_LOOK
    layers.append(stroked(points, pen, broken=doubtful))
    layers.extend(_dots(shape, points, pen, look_at=None if doubtful else look_at))
    return tuple(layers)


def filled(outline: Points, pen: Pen, role: str, *, opacity: float) -> str:
    """Return a closed area in the colour of `role`: wash, accent_wash or band."""
    return element(
        "path",
        d=path_of(outline, closed=True),
        fill=getattr(pen.palette, role),
        fill_opacity=opacity,
        fill_rule="evenodd",
        **_class(pen, role.replace("_", "-")),
    )


def stroked(points: Points, pen: Pen, *, broken: bool = False, soft: bool = False) -> str:
    """Return the body's stroke; `soft` for the test that another one is compared with."""
    weight = pen.stroke * (0.6 if soft else 1.0)
    dashes = {"stroke_dasharray": f"{2.4 * weight:.2f} {1.6 * weight:.2f}"} if broken else {}
    line = element(
        "path",
        d=path_of(points),
        fill="none",
        stroke=pen.palette.ink_soft if soft else pen.palette.ink,
        stroke_width=weight,
        stroke_linejoin="round",
        stroke_linecap="butt" if broken else "round",
        **dashes,
        **_class(pen, "stroke-soft" if soft else "stroke"),
    )
    return _rim(points, pen, weight) + line


def hairline(points: Points, pen: Pen) -> str:
    """Return a thin line through (n, 2) `points`."""
    return _rim(points, pen, pen.hairline) + element(
        "path",
        d=path_of(points),
        fill="none",
        stroke=pen.palette.hairline,
        stroke_width=pen.hairline,
        **_class(pen, "chord"),
    )


def _rim(points: Points, pen: Pen, weight: float) -> str:
    if not pen.halo:
        return ""
    return element(
        "path",
        d=path_of(points),
        fill="none",
        stroke=pen.palette.paper,
        stroke_opacity=0.75,
        stroke_width=weight + 2.0 * pen.halo,
        stroke_linejoin="round",
        stroke_linecap="round",
    )


def hatched(outline: Points, pen: Pen) -> str:
    """Return the pattern for 'not yet known' inside a closed (n, 2) `outline`."""
    lines = hatch_path(outline, gap=pen.hatch_gap)
    if not lines:
        return ""
    rim = ""
    if pen.halo:
        rim = element("path", d=path_of(outline, closed=True), fill="#ffffff", fill_opacity=0.45)
    return rim + element(
        "path",
        d=lines,
        fill="none",
        stroke=pen.palette.hairline,
        stroke_width=pen.hairline,
        **_class(pen, "hatch"),
    )


def _dots(shape: LineShape, points: Points, pen: Pen, *, look_at: str | None) -> list[str]:
    dots: list[str] = []
    for name, (x, y) in zip(shape.names, points, strict=True):
        if name == look_at:
            dots.append(
                element(
                    "circle",
                    cx=float(x),
                    cy=float(y),
                    r=max(1.7 * pen.dot, 1.45 * pen.stroke),
                    fill=pen.palette.accent,
                    stroke=pen.palette.paper,
                    stroke_width=max(pen.halo, 0.5 * pen.stroke),
                    **_class(pen, "look"),
                )
            )
        elif pen.dot:
            rim = pen.palette.paper if pen.halo else "none"
            dots.append(
                element(
                    "circle",
                    cx=float(x),
                    cy=float(y),
                    r=pen.dot,
                    fill=pen.palette.ink,
                    stroke=rim,
                    stroke_width=pen.halo,
                    **_class(pen, "dot"),
                )
            )
    return dots


def _class(pen: Pen, role: str) -> dict[str, str]:
    return {"class_": f"cl-{role}"} if pen.themed else {}
