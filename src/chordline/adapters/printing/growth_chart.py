"""Her statures by age over the reference's median and the band of two standard deviations."""

from collections.abc import Callable, Sequence
from functools import partial
from typing import Final

import numpy as np

from chordline.adapters.printing.chart_words import words_at
from chordline.adapters.printing.palette import LIGHT
from chordline.adapters.printing.svg import Points, element, path_of, picture
from chordline.core.geometry.angles import Floats
from chordline.core.progress.growth_lms import GrowthTable, size_at_score

WIDTH_PX: Final = 640.0
HEIGHT_PX: Final = 380.0
_LEFT, _RIGHT, _TOP, _BOTTOM = 56.0, 92.0, 34.0, 44.0
#: At least so many years are shown, so that one stature stands among its neighbours.
_LEAST_YEARS: Final = 4
_STEP_CM: Final = 10
_LETTERS_PX: Final = 17.0
_words = partial(words_at, letters_px=_LETTERS_PX)
_BAND_SD: Final = 2.0
_MONTHS: Final = 12.0
#: Scores at the edges and in the middle of the band, from the top down.
_SCORES: Final = (_BAND_SD, 0.0, -_BAND_SD)
_LABELS: Final = ("+2 SD", "median", "\N{MINUS SIGN}2 SD")


def draw_growth(
    points: Sequence[tuple[float, float]], table: GrowthTable | None, *, title: str, desc: str
) -> str:
    """Return the chart as SVG.

    Parameters
    ----------
    points : sequence of (age [years], stature [cm])
        At least one, the first first.
    table : GrowthTable or None
        Without one her statures stand alone.
    title, desc : str
        For whoever does not see it.
    """
    ages = np.array([age for age, _ in points])
    first, last = _years(ages)
    grid = np.linspace(first, last, 12 * (last - first) + 1)
    curves = [] if table is None else [_curve(table, grid, z) for z in _SCORES]
    heights = np.concatenate([np.array([cm for _, cm in points]), *(one[:, 1] for one in curves)])
    low = _STEP_CM * int(np.floor((heights.min() - 2.0) / _STEP_CM))
    high = _STEP_CM * int(np.ceil((heights.max() + 2.0) / _STEP_CM))

    def place(at: Points) -> Points:
        x = _LEFT + (at[:, 0] - first) / (last - first) * (WIDTH_PX - _LEFT - _RIGHT)
        y = _TOP + (high - at[:, 1]) / (high - low) * (HEIGHT_PX - _TOP - _BOTTOM)
        return np.column_stack([x, y])

    layers = []
    if curves and len(curves[0]) > 1:
        layers += _reference([place(one) for one in curves])
    layers += _axes(place, years=range(first, last + 1), heights=range(low, high + 1, _STEP_CM))
    layers += _hers(place(np.array(points)))
    return picture(
        *layers,
        view_box=(0.0, 0.0, WIDTH_PX, HEIGHT_PX),
        title=title,
        desc=desc,
        class_="cl-growth",
    )


def _years(ages: Floats) -> tuple[int, int]:
    first, last = int(np.floor(ages.min() - 0.5)), int(np.ceil(ages.max() + 0.5))
    while last - first < _LEAST_YEARS:
        first, last = first - 1, last + 1
    return max(first, 0), last


def _curve(table: GrowthTable, years: Floats, z: float) -> Points:
    sizes = np.array([size_at_score(table, age_months=age * _MONTHS, z=z) for age in years])
    there = ~np.isnan(sizes)
    return np.column_stack([years[there], sizes[there]])


def _reference(curves: Sequence[Points]) -> list[str]:
    high, middle, low = curves
    outline = np.vstack([high, low[::-1]])
    layers = [
        element("path", d=path_of(outline, closed=True), fill=LIGHT.wash, class_="cl-wash"),
        _line(middle, broken=True),
    ]
    layers += [
        _words(label, curve[-1] + np.array([8.0, 6.0]))
        for label, curve in zip(_LABELS, curves, strict=True)
    ]
    return layers


def _line(points: Points, *, broken: bool = False) -> str:
    dashes = {"stroke_dasharray": "7 5"} if broken else {}
    return element(
        "path",
        d=path_of(points),
        fill="none",
        stroke=LIGHT.hairline,
        stroke_width=1.2,
        class_="cl-chord",
        **dashes,
    )


def _axes(place: Callable[[Points], Points], *, years: range, heights: range) -> list[str]:
    layers = []
    left, right = years[0], years[-1]
    for cm in heights:
        ends = place(np.array([[left, cm], [right, cm]], dtype=np.float64))
        layers.append(element("path", d=path_of(ends), class_="cl-rule", stroke=LIGHT.wash))
        layers.append(_words(str(cm), ends[0] + np.array([-8.0, 6.0]), anchor="end"))
    bottom = heights[0]
    floor = place(np.array([[left, bottom], [right, bottom]], dtype=np.float64))
    layers.append(_line(floor))
    for year in years:
        at = place(np.array([[year, bottom]], dtype=np.float64))[0]
        layers.append(_line(np.array([at, at + np.array([0.0, 6.0])])))
        layers.append(_words(str(year), at + np.array([0.0, 24.0]), anchor="middle"))
    layers.append(_words("years", floor[1] + np.array([20.0, 24.0])))
    layers.append(_words("cm", np.array([_LEFT - 8.0, _TOP - 16.0]), anchor="end"))
    return layers


def _hers(placed: Points) -> list[str]:
    layers = []
    if len(placed) > 1:
        layers.append(
            element(
                "path",
                d=path_of(placed),
                fill="none",
                stroke=LIGHT.ink,
                stroke_width=2.4,
                stroke_linejoin="round",
                class_="cl-stroke",
            )
        )
    layers += [
        element("circle", cx=x, cy=y, r=5.0, fill=LIGHT.ink, class_="cl-dot") for x, y in placed
    ]
    return layers
