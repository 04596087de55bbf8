"""Where labels can stand: near their landmark, inside the picture, never on one another."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

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

    def overlaps(self, other: "Box") -> bool:
        """Whether both share more than an edge."""
        return (
            self.left < other.right
            and other.left < self.right
            and self.top < other.bottom
            and other.top < self.bottom
        )

    def within(self, other: "Box") -> bool:
        """Whether it lies wholly inside `other`."""
        return (
            self.left >= other.left
            and self.top >= other.top
            and self.right <= other.right
            and self.bottom <= other.bottom
        )

    def is_crossed_by(self, start: NDArray[np.float64], end: NDArray[np.float64]) -> bool:
        """Whether the segment from `start` to `end` runs through it."""
        step = end - start
        enter, leave = 0.0, 1.0
        for low, high, at, by in (
            (self.left, self.right, start[0], step[0]),
            (self.top, self.bottom, start[1], step[1]),
        ):
            if by == 0.0:
                if not low < at < high:
                    return False
                continue
            first, last = sorted(((low - at) / by, (high - at) / by))
            enter, leave = max(enter, first), min(leave, last)
        return bool(enter < leave)


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
    taken = list(avoid_boxes)
    for wish in wishes:
        best, best_cost = None, np.inf
        for box in _places(wish, em):
            if not box.within(frame) or any(box.overlaps(other) for other in taken):
                continue
            crossings = sum(box.is_crossed_by(start, end) for start, end in avoid_lines)
            far = np.hypot(*(np.array(box.center) - wish.at)) / em
            wrong_side = float((np.array(box.center) - wish.at) @ wish.away < 0.0)
            cost = far + _CROSSING_COST * crossings + 1.5 * wrong_side
            if cost < best_cost:
                best, best_cost = box, cost
        placed.append(best)
        if best is not None:
            aside, above = 0.5 * em, 0.1 * em
            taken.append(
                Box(best.left - aside, best.top - above, best.right + aside, best.bottom + above)
            )
    return tuple(placed)


def _places(wish: LabelWish, em: float) -> Iterator[Box]:
    """Yield boxes beside the point: on both sides, further and further away and along."""
    half = np.array([text_width(wish.text, em) / 2.0, LINE_EM * em / 2.0])
    along = np.array([wish.away[1], -wish.away[0]])
    for side in (wish.away, -wish.away):
        # How far the middle must lie so that the box just clears the landmark's dot.
        clear = 0.55 * em + float(np.abs(side) @ half)
        for away in _STEPS_AWAY:
            for share in _STEPS_ALONG:
                shift = share * 2.0 * float(np.abs(along) @ half)
                x, y = wish.at + side * (clear + away * em) + along * shift
                yield Box(x - half[0], y - half[1], x + half[0], y + half[1])
