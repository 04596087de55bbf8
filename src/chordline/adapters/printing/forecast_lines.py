"""Handstands side by side over one floor: what her photo shows, and what she could reach."""

import textwrap
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from chordline.adapters.printing.line_shape import Z_95
from chordline.adapters.printing.palette import LIGHT
from chordline.adapters.printing.strokes import Pen, filled, hairline, hatched, stroked
from chordline.adapters.printing.svg import Points, clean, element, picture, text
from chordline.application.forecast.told import LINE_POINTS
from chordline.conventions import facing_of
from chordline.core.body.measurement import Measurement
from chordline.core.estimate import Estimate

#: All lines are drawn with the same chord, so that the same bow is as wide in each [px].
CHORD_PX: Final = 312.0
#: Room of one line with its caption.
CELL_PX: Final = 200.0
_TOP_PX: Final = 40.0
_PEN: Final = Pen(2.6, 1.0, 2.6, hatch_gap=9.0, halo=0.0, palette=LIGHT, themed=True)
#: The hand, from the wrist over its heel to the fingers, and the floor under it [% of chord]. The
#: fingers lie to the side of her back.
_HAND: Final = np.array([[0.0, 0.0], [1.6, -2.6], [-8.0, -2.6]])
_FLOOR_PCT: Final = -3.2
_CAPTION_PX, _BOW_PX, _LEADING_PX = 17.0, 15.0, 21.0
_CAPTION_LETTERS: Final = 20
_FACE: Final = "Libertinus Serif, Charter, Georgia, serif"
#: Points whose bow counts (the model's lower back is none that a photo has).
_COUNTED: Final = ("shoulder", "hip", "knee")
_SPOKEN: Final = {"trunk": "lower back", "malleolus": "ankle"}
#: One who leans more does not stand [share of the chord].
_LEAST_HEIGHT: Final = 0.8
_MARGIN_PX: Final = 6.0
#: Without these no photo can be drawn beside a forecast.
_NEEDED: Final = ("wrist", "shoulder", "hip", "malleolus")


@dataclass(frozen=True)
class Figure:
    """One handstand.

    Attributes
    ----------
    caption : str
    points : mapping of name to (x, y)
        Wrist at the origin, x towards the front, y up [% of chord], from the floor up; empty where
        nothing is known: then its place is hatched.
    bow_max_pct : Estimate or None
        Magnitude of the largest bow.
    stopped_at : str or None
        The point to look at.
    """

    caption: str
    points: dict[str, tuple[float, float]]
    bow_max_pct: Estimate | None
    stopped_at: str | None = None


def figure_of_photo(photo: Measurement) -> Figure | None:
    """Return the line of a photographed handstand, leaning as she leans.

    None without its marks, or where they do not stand on the hands at all. One that needs a look
    is a figure without points: nothing of it is known yet.
    """
    if not photo.trust.accepted:
        return Figure("Her photo needs a look", {}, None)
    marks = photo.landmarks
    if any(name not in marks for name in _NEEDED):
        return None
    roll = 0.0 if photo.card is None else float(np.deg2rad(photo.card.roll_deg.value))
    forward = facing_of(photo.near_side) * np.array([np.cos(roll), np.sin(roll)])
    up = np.array([np.sin(roll), -np.cos(roll)])
    names = [name for name in LINE_POINTS if name in marks]
    from_wrist = np.array(
        [
            [marks[name].x_px - marks["wrist"].x_px, marks[name].y_px - marks["wrist"].y_px]
            for name in names
        ]
    )
    placed = np.column_stack([from_wrist @ forward, from_wrist @ up])
    ankle = placed[names.index("malleolus")]
    chord = float(np.hypot(*ankle))
    if not ankle[1] > _LEAST_HEIGHT * chord:
        return None
    points = {
        name: (float(x), float(y))
        for name, (x, y) in zip(names, placed * 100.0 / chord, strict=True)
    }
    bow = photo.measures.get("bow_max_pct")
    told = None if bow is None else Estimate(abs(bow.value), bow.total_sd)
    return Figure("Her photo", points, told)


def draw_handstands(figures: Sequence[Figure], *, title: str) -> str:
    """Return the figures as one SVG, left to right, the front of the body to the right."""
    rows = max(len(_caption(one.caption)) for one in figures)
    floor_y = _TOP_PX + (100.0 - _FLOOR_PCT) * CHORD_PX / 100.0
    width = CELL_PX * len(figures)
    floor = np.array([[0.0, floor_y], [width, floor_y]])
    parts = [hairline(floor, _PEN)]
    for i, one in enumerate(figures):
        middle = CELL_PX * (i + 0.5)
        stands = middle + _aside(one)
        parts.extend(_draw(one, stands) if one.points else _draw_unknown(middle))
        parts.extend(_captions(one, middle, floor_y, rows))
    height = floor_y + 12.0 + _LEADING_PX * (rows + 1)
    return picture(
        *parts,
        view_box=(0.0, 0.0, width, height),
        title=clean(title),
        desc=clean(" ".join(map(_describe, figures))),
        class_="cl-hands",
    )


def _place(points_pct: Points, middle: float) -> Points:
    scale = CHORD_PX / 100.0
    x = middle + scale * points_pct[:, 0]
    y = _TOP_PX + scale * (100.0 - points_pct[:, 1])
    return np.column_stack([x, y])


def _aside(one: Figure) -> float:
    """Return how far a line is moved from the middle, so that one that leans stays in its place."""
    across = [0.01 * CHORD_PX * x for x, _ in one.points.values()]
    room = CELL_PX / 2.0 - _MARGIN_PX
    if not across:
        return 0.0
    return min(0.0, room - max(across)) or max(0.0, -room - min(across))


def _draw(one: Figure, middle: float) -> list[str]:
    names = list(one.points)
    points = np.array(list(one.points.values()))
    ankle = names.index("malleolus")
    chorded = points[: ankle + 1]
    placed = _place(points, middle)
    layers = [filled(placed[: ankle + 1], _PEN, "wash", opacity=1.0)]
    if one.bow_max_pct is not None:
        band = _place(_band(names, chorded, one.bow_max_pct), middle)
        layers.append(filled(band, _PEN, "band", opacity=0.5))
    layers.append(hairline(placed[[0, ankle]], _PEN))
    layers.append(stroked(_place(_HAND, middle), _PEN))
    layers.append(stroked(placed, _PEN))
    for name, (x, y) in zip(names, placed, strict=True):
        if name == one.stopped_at:
            layers.append(_dot(x, y, look=True))
        elif name != "toe":
            layers.append(_dot(x, y, look=False))
    return layers


def _dot(x: float, y: float, *, look: bool) -> str:
    palette = _PEN.palette
    return element(
        "circle",
        cx=float(x),
        cy=float(y),
        r=6.5 if look else _PEN.dot,
        fill=palette.accent if look else palette.ink,
        stroke=palette.paper if look else "none",
        stroke_width=1.5 if look else 0.0,
        class_="cl-look" if look else "cl-dot",
    )


def _bows(chorded: Points) -> Points:
    """Return how far each point lies from the chord, positive towards the front."""
    along = chorded[-1] / np.hypot(*chorded[-1])
    return np.asarray(chorded @ np.array([along[1], -along[0]]))


def _band(names: list[str], chorded: Points, bow: Estimate) -> Points:
    """Return the outline of where the line may lie: the bow's own ±, in proportion."""
    bows = np.abs(_bows(chorded))
    counted = [bows[names.index(name)] for name in _COUNTED if name in names]
    largest = max(counted, default=0.0)
    share = np.clip(bows / largest, 0.0, 1.5) if largest > 0.0 else np.zeros(len(bows))
    along = chorded[-1] / np.hypot(*chorded[-1])
    across = np.array([along[1], -along[0]])
    aside = (Z_95 * bow.sd * share)[:, None] * across
    return np.vstack([chorded + aside, (chorded - aside)[::-1]])


def _draw_unknown(middle: float) -> list[str]:
    place = np.array([[-9.0, 0.0], [9.0, 0.0], [9.0, 100.0], [-9.0, 100.0]])
    return [hatched(_place(place, middle), _PEN)]


def _caption(words: str) -> list[str]:
    return textwrap.wrap(clean(words), _CAPTION_LETTERS, break_long_words=True) or [""]


def _captions(one: Figure, middle: float, floor_y: float, rows: int) -> list[str]:
    lines = _caption(one.caption)
    said = [
        _text(line, middle, floor_y + 10.0 + _LEADING_PX * (i + 1) - 4.0, _CAPTION_PX, soft=False)
        for i, line in enumerate(lines)
    ]
    if one.bow_max_pct is not None:
        y = floor_y + 10.0 + _LEADING_PX * (min(len(lines), rows) + 1) - 4.0
        said.append(_text(_bow(one.bow_max_pct), middle, y, _BOW_PX, soft=True))
    return said


def _bow(bow: Estimate) -> str:
    return f"bow {abs(bow.value):.1f} % ± {Z_95 * bow.sd:.1f} %"


def _text(words: str, x: float, y: float, size: float, *, soft: bool) -> str:
    return element(
        "text",
        text(words),
        x=x,
        y=y,
        text_anchor="middle",
        font_family=_FACE,
        font_size=size,
        fill=LIGHT.ink_soft if soft else LIGHT.ink,
        class_=f"cl-label cl-word{'-soft' if soft else ''}",
    )


def _describe(one: Figure) -> str:
    """Return a figure in words, for those who cannot see it."""
    if not one.points:
        return f"{one.caption}: not yet known."
    names = list(one.points)
    ankle = names.index("malleolus")
    bows = _bows(np.array(list(one.points.values()))[: ankle + 1])
    parts = [
        f"{_SPOKEN.get(name, name)} {abs(bow):.1f} % towards the {'front' if bow > 0 else 'back'}"
        for name, bow in zip(names[1:ankle], bows[1:ankle], strict=True)
    ]
    stop = "" if one.stopped_at is None else f" Stopped at the {_spoken(one.stopped_at)}."
    return f"{one.caption}: away from the line of wrist and ankle, {', '.join(parts)}.{stop}"


def _spoken(name: str) -> str:
    return _SPOKEN.get(name, name)
