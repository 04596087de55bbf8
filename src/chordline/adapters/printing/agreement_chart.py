"""Two series of markings after Bland and Altman: each photo's difference over its mean."""

from functools import partial
from typing import Final

import numpy as np

from chordline.adapters.printing.chart_words import words_at
from chordline.adapters.printing.palette import LIGHT
from chordline.adapters.printing.svg import Points, element, path_of, picture
from chordline.core.geometry.angles import Floats
from chordline.core.progress.agreement_limits import Bounded, Limits

WIDTH_PX: Final = 520.0
HEIGHT_PX: Final = 280.0
_LEFT, _RIGHT, _TOP, _BOTTOM = 58.0, 118.0, 30.0, 44.0
_LETTERS_PX: Final = 16.0
_words = partial(words_at, letters_px=_LETTERS_PX)
#: Air around what is shown, as a share of its span.
_AIR: Final = 0.08


def draw_agreement(
    firsts: Floats, seconds: Floats, limits: Limits, *, sign: str, title: str, desc: str
) -> str:
    """Return the chart as SVG: bias and limits as lines, their intervals as bands.

    Parameters
    ----------
    firsts, seconds : (n,) float arrays [the measure's unit]
    limits : Limits
        Of the differences, the first minus the second.
    sign : str
        The unit as it follows a number.
    title, desc : str
        For whoever does not see it.
    """
    means, differences = (firsts + seconds) / 2.0, firsts - seconds
    lines = (limits.upper, limits.bias, limits.lower)
    edges = [differences.min(), differences.max(), 0.0]
    edges += [edge for line in lines for edge in (line.low, line.high)]
    low, high = _span(np.array(edges))
    left, right = _span(means)

    def place(at: Points) -> Points:
        x = _LEFT + (at[:, 0] - left) / (right - left) * (WIDTH_PX - _LEFT - _RIGHT)
        y = _TOP + (high - at[:, 1]) / (high - low) * (HEIGHT_PX - _TOP - _BOTTOM)
        return np.column_stack([x, y])

    def band(bounded: Bounded) -> str:
        corners = [(left, bounded.low), (right, bounded.low)]
        corners += [(right, bounded.high), (left, bounded.high)]
        outline = path_of(place(np.array(corners)), closed=True)
        return element("path", d=outline, fill=LIGHT.wash, class_="cl-wash")

    def level(value: float, *, broken: bool) -> str:
        ends = place(np.array([[left, value], [right, value]]))
        dashes = {"stroke_dasharray": "7 5"} if broken else {}
        return element(
            "path",
            d=path_of(ends),
            fill="none",
            stroke=LIGHT.ink,
            stroke_width=1.6,
            class_="cl-stroke",
            **dashes,
        )

    at_right = [place(np.array([[right, line.value]]))[0] for line in lines]
    words = zip(("upper limit", "mean", "lower limit"), lines, at_right, strict=True)
    layers = [band(line) for line in lines]
    layers.append(_hairline(place(np.array([[left, 0.0], [right, 0.0]]))))
    layers += [
        level(line.value, broken=broken)
        for line, broken in zip(lines, (True, False, True), strict=True)
    ]
    layers += [
        element("circle", cx=x, cy=y, r=4.0, fill=LIGHT.ink, class_="cl-dot")
        for x, y in place(np.column_stack([means, differences]))
    ]
    layers += [
        _words(f"{_signed(line.value)}{sign}", at + np.array([8.0, 5.0]), name=name)
        for name, line, at in words
    ]
    zero = place(np.array([[left, 0.0]]))[0]
    layers.append(_words("0", zero + np.array([-8.0, 5.0]), anchor="end"))
    floor = HEIGHT_PX - _BOTTOM + 24.0
    layers.append(_words(f"{_signed(left)}{sign}", np.array([_LEFT, floor])))
    middle = np.array([(_LEFT + WIDTH_PX - _RIGHT) / 2.0, floor])
    layers.append(_words("mean of both", middle, anchor="middle"))
    end = np.array([WIDTH_PX - _RIGHT, floor])
    layers.append(_words(f"{_signed(right)}{sign}", end, anchor="end"))
    layers.append(_words("difference", np.array([8.0, _TOP - 12.0])))
    return picture(
        *layers,
        view_box=(0.0, 0.0, WIDTH_PX, HEIGHT_PX),
        title=title,
        desc=desc,
        class_="cl-agreement",
    )


def _span(values: Floats) -> tuple[float, float]:
    low, high = float(values.min()), float(values.max())
    air = max(_AIR * (high - low), 0.5)
    return low - air, high + air


def _signed(value: float) -> str:
    words = f"{abs(value):.1f}"
    if float(words) == 0.0:
        return "0"
    return f"{chr(0x2212) if value < 0 else '+'}{words}"


def _hairline(points: Points) -> str:
    return element(
        "path",
        d=path_of(points),
        fill="none",
        stroke=LIGHT.hairline,
        stroke_width=1.0,
        class_="cl-chord",
    )
