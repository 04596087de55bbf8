"""Small pieces of SVG text: escaped, rounded, and the same on every machine."""

import re
from collections.abc import Iterable
from xml.sax.saxutils import escape, quoteattr

import numpy as np
from numpy.typing import NDArray

Points = NDArray[np.float64]

#: What XML 1.0 forbids even when escaped.
_FORBIDDEN = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def clean(text: str) -> str:
    """Return `text` without the characters that XML cannot carry."""
    return _FORBIDDEN.sub("\ufffd", text)


def number(value: float) -> str:
    """Return a coordinate with at most two decimals and no trailing zeros."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def element(name: str, *children: str, **attributes: str | float) -> str:
    """Return one element; `_` in attribute names becomes `-`, and `class_` becomes `class`.

    Children are markup and stand as they are; attribute values are escaped here.
    """
    written = "".join(
        f" {key.rstrip('_').replace('_', '-')}="
        + quoteattr(clean(value) if isinstance(value, str) else number(value))
        for key, value in attributes.items()
    )
    return f"<{name}{written}>{''.join(children)}</{name}>" if children else f"<{name}{written}/>"


def text(content: str) -> str:
    """Return character data, escaped."""
    return escape(clean(content))


def path_of(points: Points, *, closed: bool = False) -> str:
    """Return path data through (n, 2) `points`."""
    steps = " ".join(f"{number(x)} {number(y)}" for x, y in points)
    return f"M{steps}{'Z' if closed else ''}"


def picture(
    *children: str, view_box: tuple[float, float, float, float], title: str, desc: str, class_: str
) -> str:
    """Return an accessible ``<svg>`` as wide and tall as its `view_box` (x, y, width, height)."""
    return element(
        "svg",
        element("title", text(title)),
        element("desc", text(desc)),
        *children,
        xmlns="http://www.w3.org/2000/svg",
        viewBox=" ".join(number(v) for v in view_box),
        width=view_box[2],
        height=view_box[3],
        role="img",
        class_=class_,
    )


def hatch_path(outline: Points, *, gap: float) -> str:
    """Return path data of 45° lines, `gap` apart, that fill a closed (n, 2) `outline`.

    The lines are computed instead of using ``<pattern>``: no ids that could clash on a page, and
    every renderer draws the same.
    """
    # In coordinates turned by 45° the lines are horizontal: a scan-line fill by the even-odd rule.
    u = (outline[:, 0] + outline[:, 1]) / np.sqrt(2.0)
    v = (outline[:, 0] - outline[:, 1]) / np.sqrt(2.0)
    u2, v2 = np.roll(u, -1), np.roll(v, -1)
    steps: list[str] = []
    for level in np.arange(np.floor(v.min() / gap) + 0.5, v.max() / gap) * gap:
        crossed = (v > level) != (v2 > level)
        share = (level - v[crossed]) / (v2[crossed] - v[crossed])
        hits = np.sort(u[crossed] + share * (u2[crossed] - u[crossed]))
        for start, end in _pairs(hits):
            ends = np.array([[start + level, start - level], [end + level, end - level]])
            steps.append(path_of(ends / np.sqrt(2.0)))
    return "".join(steps)


def _pairs(values: NDArray[np.float64]) -> Iterable[tuple[float, float]]:
    return zip(values[0::2].tolist(), values[1::2].tolist(), strict=False)
