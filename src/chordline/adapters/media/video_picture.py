"""From a decoded frame to an upright picture with square pixels."""

from collections.abc import Callable
from fractions import Fraction
from typing import Final, cast

import av
import numpy as np
from av.sidedata.sidedata import SideData
from numpy.typing import NDArray

Pixels = NDArray[np.uint8]
Size = tuple[int, int]
#: The display matrix without scale: (a, b, c, d) of x' = a·x + c·y, y' = b·x + d·y, y down.
Turn = tuple[int, int, int, int]

UPRIGHT: Final[Turn] = (1, 0, 0, 1)

#: What makes a stored picture upright. Phones store what the chip sees and how it was held; the
#: camera at the screen's side may mirror.
_MAKE_UPRIGHT: Final[dict[Turn, Callable[[Pixels], Pixels]]] = {
    UPRIGHT: lambda a: a,
    (0, 1, -1, 0): lambda a: a.transpose(1, 0, 2)[:, ::-1],
    (-1, 0, 0, -1): lambda a: a[::-1, ::-1],
    (0, -1, 1, 0): lambda a: a.transpose(1, 0, 2)[::-1],
    (-1, 0, 0, 1): lambda a: a[:, ::-1],
    (1, 0, 0, -1): lambda a: a[::-1],
    (0, 1, 1, 0): lambda a: a.transpose(1, 0, 2),
    (0, -1, -1, 0): lambda a: a[::-1, ::-1].transpose(1, 0, 2),
}


def turn_of(frame: av.VideoFrame) -> Turn:
    """Return how a stored frame is to be turned or mirrored, by quarter turns."""
    data = frame.side_data.get("DISPLAYMATRIX")
    if data is None:
        return UPRIGHT
    numbers = np.frombuffer(bytes(cast(SideData, data)), dtype=np.int32)
    if len(numbers) != 9:
        return UPRIGHT
    a, b, c, d = (float(numbers[i]) for i in (0, 1, 3, 4))
    if abs(a) + abs(d) >= abs(b) + abs(c):
        turn = (_sign(a), 0, 0, _sign(d))
    else:
        turn = (0, _sign(b), _sign(c), 0)
    return turn if turn in _MAKE_UPRIGHT else UPRIGHT


def _sign(value: float) -> int:
    return -1 if value < 0.0 else 1


def lies_on_its_side(turn: Turn) -> bool:
    """Return whether width and height change places."""
    return turn[0] == 0


def square_size(frame: av.VideoFrame, aspect: Fraction | None) -> Size:
    """Return width and height of a stored frame with its pixels made square, none lost."""
    share = float(aspect) if aspect else 1.0
    if not 0.1 <= share <= 10.0:
        share = 1.0
    if share >= 1.0:
        return round(frame.width * share), frame.height
    return frame.width, round(frame.height / share)


def fit_size(size: Size, longest_px: int) -> Size:
    """Return a size shrunk to a longest side, even numbers."""
    share = min(1.0, longest_px / max(size))
    return max(2, 2 * round(size[0] * share / 2)), max(2, 2 * round(size[1] * share / 2))


def picture_of(frame: av.VideoFrame, size: Size, turn: Turn) -> Pixels:
    """Return the upright (h, w, 3) picture; `size` is that before turning."""
    rgb = frame.to_ndarray(width=size[0], height=size[1], format="rgb24", interpolation="AREA")
    return np.ascontiguousarray(_MAKE_UPRIGHT[turn](np.asarray(rgb, dtype=np.uint8)))
