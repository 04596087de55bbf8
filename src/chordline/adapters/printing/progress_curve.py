"""A capacity through her screens: the bow over the line that she works towards."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from functools import partial
from typing import Final

import numpy as np

from chordline.adapters.printing.chart_words import words_at
from chordline.adapters.printing.line_shape import Z_95
from chordline.adapters.printing.palette import LIGHT
from chordline.adapters.printing.svg import Points, element, path_of, picture
from chordline.core.geometry.angles import Floats

WIDTH_PX: Final = 640.0
HEIGHT_PX: Final = 210.0
_LEFT, _RIGHT, _TOP, _BOTTOM = 74.0, 20.0, 18.0, 40.0
_LETTERS_PX: Final = 17.0
_words = partial(words_at, letters_px=_LETTERS_PX)
_DOT_PX: Final = 5.0
#: A label of a day is about so wide: nearer days are not both labelled.
_DAY_PX: Final = 104.0


@dataclass(frozen=True)
class CurveShape:
    """What is drawn of one capacity.

    Attributes
    ----------
    days : tuple of int
        Proleptic ordinals, rising.
    mean, sd : (t,) float arrays [the capacity's unit]
        Positive = missing.
    screens : tuple of bool or None
        At a screen: whether it measured the capacity; None between screens.
    limit : float [the capacity's unit]
        Shortfall from which on it limits her.
    """

    days: tuple[int, ...]
    mean: Floats
    sd: Floats
    screens: tuple[bool | None, ...]
    limit: float

    @property
    def tested(self) -> int:
        """Place of the latest screen."""
        return max(i for i, one in enumerate(self.screens) if one is not None)


def draw_curve(
    shape: CurveShape,
    *,
    title: str,
    desc: str,
    aligned: str,
    label: Callable[[float], str],
    day_label: Callable[[date], str],
) -> str:
    """Return the curve as SVG.

    Parameters
    ----------
    shape : CurveShape
    title, desc : str
        For whoever does not see it.
    aligned : str
        What stands at the line where nothing is missing.
    label : callable
        Gives a shortfall in words.
    day_label : callable
        Gives a day in words.

    Notes
    -----
    What is missing stands above the line, as a bow does. After the latest screen the stroke is
    broken: nothing was measured there. The band is 95 %, cut where it leaves the drawing.
    """
    low, high = _range(shape)
    first, last = shape.days[0], max(shape.days[-1], shape.days[0] + 28)

    def place(days: Floats, values: Floats) -> Points:
        x = _LEFT + (days - first) / (last - first) * (WIDTH_PX - _LEFT - _RIGHT)
        y = _TOP + (high - np.clip(values, low, high)) / (high - low) * (HEIGHT_PX - _TOP - _BOTTOM)
        return np.column_stack([x, y])

    days = np.array(shape.days, dtype=np.float64)
    line, tested = place(days, shape.mean), shape.tested
    upper = place(days, shape.mean + Z_95 * shape.sd)
    lower = place(days, shape.mean - Z_95 * shape.sd)
    ends = place(np.array([first, last], dtype=np.float64), np.zeros(2))
    foot = place(days, np.zeros(len(days)))
    bow = np.vstack([line[: tested + 1], foot[: tested + 1][::-1]])
    layers = [
        _area(np.vstack([upper, lower[::-1]]), "band", LIGHT.band, opacity=0.5),
        _area(bow, "wash", LIGHT.wash, opacity=0.8),
        _stroke(ends, "chord", LIGHT.hairline, 1.2),
        _words(aligned, ends[0] + np.array([-10.0, 6.0]), anchor="end"),
        *_limit(shape, place, high),
        _stroke(line[: tested + 1], "stroke", LIGHT.ink, 2.4),
        _stroke(line[tested:], "stroke-soft", LIGHT.ink_soft, 1.6, broken=True),
        *_dots(line, shape.screens),
        *_days(shape, line, day_label),
    ]
    size = label(shape.limit)
    if high > 1.35 * shape.limit:
        at = place(np.array([float(first)]), np.array([shape.limit]))[0]
        layers.append(_words(size, at + np.array([-10.0, 6.0]), anchor="end"))
    return picture(
        *layers,
        view_box=(0.0, 0.0, WIDTH_PX, HEIGHT_PX),
        title=title,
        desc=desc,
        class_="cl-curve",
    )


def _range(shape: CurveShape) -> tuple[float, float]:
    """Return the lowest and the highest value that is shown: every mean, and most of the band."""
    at = [i for i, one in enumerate(shape.screens) if one is not None]
    mean, sd = shape.mean[at], shape.sd[at]
    known = np.minimum(sd, 1.5 * shape.limit)
    low = min(float((mean - Z_95 * known).min()), -0.4 * shape.limit)
    high = max(float((mean + Z_95 * known).max()), 1.6 * shape.limit)
    return low, high


def _limit(shape: CurveShape, place: Callable[[Floats, Floats], Points], high: float) -> list[str]:
    """Return a faint line from where on the capacity limits her."""
    if high <= shape.limit:
        return []
    ends = np.array([shape.days[0], max(shape.days[-1], shape.days[0] + 28)], dtype=np.float64)
    return [
        _stroke(place(ends, np.full(2, shape.limit)), "chord", LIGHT.hairline, 0.8, broken=True)
    ]


def _area(outline: Points, role: str, fill: str, *, opacity: float) -> str:
    return element(
        "path",
        d=path_of(outline, closed=True),
        fill=fill,
        fill_opacity=opacity,
        class_=f"cl-{role}",
    )


def _stroke(points: Points, role: str, colour: str, weight: float, *, broken: bool = False) -> str:
    if len(points) < 2:
        return ""
    dashes = {"stroke_dasharray": "6 5"} if broken else {}
    return element(
        "path",
        d=path_of(points),
        fill="none",
        stroke=colour,
        stroke_width=weight,
        stroke_linejoin="round",
        class_=f"cl-{role}",
        **dashes,
    )


def _dots(line: Points, screens: Sequence[bool | None]) -> list[str]:
    """Return a dot for each screen; an open one where the capacity was not measured."""
    dots = []
    for (x, y), measured in zip(line, screens, strict=True):
        if measured is None:
            continue
        if measured:
            dots.append(
                element(
                    "circle",
                    cx=float(x),
                    cy=float(y),
                    r=_DOT_PX,
                    fill=LIGHT.ink,
                    class_="cl-dot",
                )
            )
        else:
            dots.append(
                element(
                    "circle",
                    cx=float(x),
                    cy=float(y),
                    r=_DOT_PX - 1.0,
                    fill=LIGHT.paper,
                    stroke=LIGHT.ink_soft,
                    stroke_width=1.6,
                    class_="cl-open-dot",
                )
            )
    return dots


def _days(shape: CurveShape, line: Points, day_label: Callable[[date], str]) -> list[str]:
    """Return the days of the first and the latest screen, and of those between that have room."""
    at = [i for i, one in enumerate(shape.screens) if one is not None]
    chosen = [at[0]]
    for i in at[1:-1]:
        if line[i, 0] - line[chosen[-1], 0] >= _DAY_PX and line[at[-1], 0] - line[i, 0] >= _DAY_PX:
            chosen.append(i)
    if len(at) > 1 and line[at[-1], 0] - line[chosen[-1], 0] >= _DAY_PX * 0.9:
        chosen.append(at[-1])
    words = []
    for i in chosen:
        x = float(np.clip(line[i, 0], _LEFT + 0.36 * _DAY_PX, WIDTH_PX - 0.48 * _DAY_PX))
        said = day_label(date.fromordinal(shape.days[i]))
        words.append(_words(said, np.array([x, HEIGHT_PX - 12.0]), anchor="middle"))
    return words
