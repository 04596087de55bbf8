"""Where labels can stand: near their landmark, inside the picture, never on one another."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from chordline.core.geometry.angles import Floats

#: Width of a character and height of a line in ems, for the widest face the drawings are set in
#: (bold DejaVu Sans, 0.63 em a character over words and figures; its Mono has 0.602 em).
CHARACTER_EM: Final = 0.64
LINE_EM: Final = 1.2

_CROSSING_COST: Final = 4.0
_STEPS_ALONG: Final = (0.0, 0.25, -0.25, 0.5, -0.5, 0.75, -0.75, 1.1, -1.1, 1.6, -1.6)
_STEPS_AWAY: Final = (0.0, 0.6, 1.2, 2.0, 3.0, 4.5, 6.5, 9.0)


@dataclass(frozen=True)
class Box:
    """A rectangle: left, top, right, bottom."""

    left: float
    top: float
    right: float
    bottom: float

    @property
    def center(self) -> tuple[float, float]:
        """The middle, (x, y)."""
        return (self.left + self.right) / 2.0, (self.top + self.bottom) / 2.0


@dataclass(frozen=True)
class LabelWish:
    """A text that wants to stand near a point.

    Attributes
    ----------
    text : str
    at : (2,) float array
    away : (2,) float array
        Unit vector in which there is likely to be room.
    """

    text: str
    at: NDArray[np.float64]
    away: NDArray[np.float64]


def text_width(text: str, em: float) -> float:
    """Return an upper bound of the width of `text` at font size `em`."""
    return len(text) * CHARACTER_EM * em


def place_labels(
    wishes: Sequence[LabelWish],
    *,
    em: float,
    frame: Box,
    avoid_lines: Sequence[tuple[NDArray[np.float64], NDArray[np.float64]]],
    avoid_boxes: Sequence[Box],
) -> tuple[Box | None, ...]:
    """Return a box for each wish.

    Parameters
    ----------
    wishes : sequence of LabelWish
        The first has the first choice.
    em : float
        Font size, in the units of the coordinates.
    frame : Box
        No label leaves it.
    avoid_lines : sequence of (start, end)
        Segments that a label should not cover; it may, where nothing else is near.
    avoid_boxes : sequence of Box
        Rectangles that no label covers.

    Returns
    -------
    tuple of Box or None
        None where no place is left: rather no label than one on top of another.
    """
    placed: list[Box | None] = []
    taken = [_sides(box) for box in avoid_boxes]
    starts = np.array([start for start, _ in avoid_lines]).reshape(-1, 2)
    ends = np.array([end for _, end in avoid_lines]).reshape(-1, 2)
    for wish in wishes:
        centres, half = _places(wish, em)
        low, high = centres - half, centres + half
        free = (low >= (frame.left, frame.top)).all(1) & (high <= (frame.right, frame.bottom)).all(
            1
        )
        for left, top, right, bottom in taken:
            free &= ~((low < (right, bottom)).all(1) & (high > (left, top)).all(1))
        if not free.any():
            placed.append(None)
            continue
        low, high, offset = low[free], high[free], centres[free] - wish.at
        crossings = are_crossed(low, high, starts, ends).sum(axis=1)
        cost = (
            np.hypot(offset[:, 0], offset[:, 1]) / em
            + _CROSSING_COST * crossings
            + 1.5 * (offset @ wish.away < 0.0)
        )
        best = int(np.argmin(cost))
        box = Box(*map(float, (*low[best], *high[best])))
        placed.append(box)
        aside, above = 0.5 * em, 0.1 * em
        taken.append((box.left - aside, box.top - above, box.right + aside, box.bottom + above))
    return tuple(placed)


def _sides(box: Box) -> tuple[float, float, float, float]:
    return box.left, box.top, box.right, box.bottom


def are_crossed(low: Floats, high: Floats, starts: Floats, ends: Floats) -> NDArray[np.bool_]:
    """Return which boxes (rows) which segments (columns) run through.

    Parameters
    ----------
    low, high : (n, 2) float arrays
        Left top and right bottom of the boxes.
    starts, ends : (m, 2) float arrays
    """
    step = ends - starts
    level = step == 0.0
    with np.errstate(divide="ignore", invalid="ignore"):
        first = (low[:, None] - starts) / step
        last = (high[:, None] - starts) / step
    inside = (low[:, None] < starts) & (starts < high[:, None])
    # A segment that does not move along an axis is between the sides always or never.
    enter = np.where(level, np.where(inside, 0.0, np.inf), np.minimum(first, last))
    leave = np.where(level, np.where(inside, 1.0, -np.inf), np.maximum(first, last))
    crossed: NDArray[np.bool_] = np.maximum(enter.max(axis=2), 0.0) < np.minimum(
        leave.min(axis=2), 1.0
    )
    return crossed


def _places(wish: LabelWish, em: float) -> tuple[Floats, Floats]:
    """Return (n, 2) middles beside the point, on both sides, further and further away and along,
    and half the size of the label."""
    half = np.array([text_width(wish.text, em) / 2.0, LINE_EM * em / 2.0])
    along = np.array([wish.away[1], -wish.away[0]])
    shifts = 2.0 * float(np.abs(along) @ half) * np.array(_STEPS_ALONG)
    # How far the middle must lie so that the box just clears the landmark's dot.
    clear = 0.55 * em + float(np.abs(wish.away) @ half)
    away = clear + em * np.array(_STEPS_AWAY)
    signed = np.array([1.0, -1.0])[:, None, None] * away[None, :, None]
    middles = wish.at + (signed[..., None] * wish.away) + (shifts[None, None, :, None] * along)
    return middles.reshape(-1, 2), half
