"""Turned square regions of a picture, and cutting them out."""

import math
from dataclasses import dataclass, replace
from typing import Final

import cv2
import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

#: The networks' own rule: the region is this much larger than the circle around the body.
_MARGIN: Final = 1.25


@dataclass(frozen=True)
class Roi:
    """A square region; a body in it stands upright when the region is cut out.

    Attributes
    ----------
    x_px, y_px : float [px]
        Centre (the middle of the hips); pixel centres lie at whole numbers.
    side_px : float [px]
        Length of a side.
    turn_rad : float [rad]
        Clockwise turn, as seen in the picture, of the region's upright; 0 = head up.
    """

    x_px: float
    y_px: float
    side_px: float
    turn_rad: float = 0.0

    @classmethod
    def around(cls, hips_px: Floats, rim_px: Floats) -> "Roi":
        """Return the region of a body from its hips and a point above them on its circle."""
        dx, dy = (rim_px - hips_px).tolist()
        side = 2.0 * _MARGIN * math.hypot(dx, dy)
        return cls(float(hips_px[0]), float(hips_px[1]), side, math.atan2(dx, -dy))

    def grown(self, factor: float, *, turned_rad: float = 0.0) -> "Roi":
        """Return the same region larger by `factor` and turned further clockwise."""
        return replace(self, side_px=self.side_px * factor, turn_rad=self.turn_rad + turned_rad)

    def affine(self, size: int) -> Floats:
        """Return the (2, 3) map from pixels of a `size` × `size` cut to picture pixels."""
        scale = self.side_px / size
        c, s = scale * math.cos(self.turn_rad), scale * math.sin(self.turn_rad)
        middle = (size - 1) / 2.0
        return np.array(
            [
                [c, -s, self.x_px - middle * (c - s)],
                [s, c, self.y_px - middle * (s + c)],
            ]
        )

    def resembles(self, other: "Roi") -> bool:
        """Return whether two regions are near enough to hold the same body the same way up."""
        side = max(self.side_px, other.side_px)
        apart = math.hypot(self.x_px - other.x_px, self.y_px - other.y_px) / side
        turn = math.remainder(self.turn_rad - other.turn_rad, math.tau)
        ratio = side / min(self.side_px, other.side_px)
        return apart < 0.15 and abs(turn) < math.radians(35.0) and ratio < 1.5

    def settled_from(self, other: "Roi") -> bool:
        """Return whether moving here from `other` changed so little that it need not go on."""
        apart = math.hypot(self.x_px - other.x_px, self.y_px - other.y_px) / self.side_px
        turn = math.remainder(self.turn_rad - other.turn_rad, math.tau)
        ratio = self.side_px / other.side_px
        return apart < 0.08 and abs(turn) < math.radians(8.0) and 0.88 < ratio < 1.14


def apply_affine(affine: Floats, xy: Floats) -> Floats:
    """Map (..., 2) points by a (2, 3) affine."""
    return np.asarray(xy @ affine[:, :2].T + affine[:, 2])


class Pyramid:
    """A picture with its halvings, so that cutting a large region out does not alias."""

    def __init__(self, rgb: NDArray[np.uint8]) -> None:
        self._levels: list[NDArray[np.uint8]] = [np.ascontiguousarray(rgb)]

    @property
    def width_px(self) -> int:
        """Width of the picture."""
        return int(self._levels[0].shape[1])

    @property
    def height_px(self) -> int:
        """Height of the picture."""
        return int(self._levels[0].shape[0])

    def _level(self, reduction: float) -> NDArray[np.uint8]:
        wanted = max(0, math.floor(math.log2(max(reduction, 1.0)) + 0.25))
        while len(self._levels) <= wanted and min(self._levels[-1].shape[:2]) >= 2:
            h, w = self._levels[-1].shape[:2]
            half = cv2.resize(self._levels[-1], (w // 2, h // 2), interpolation=cv2.INTER_AREA)
            self._levels.append(np.asarray(half, np.uint8))
        return self._levels[min(wanted, len(self._levels) - 1)]

    def cut(self, roi: Roi, size: int, *, extend_edge: bool) -> NDArray[np.uint8]:
        """Return the region as a (size, size, 3) picture.

        Outside the picture it is black, or the picture's edge drawn out where `extend_edge`.
        """
        source = self._level(roi.side_px / size)
        affine = roi.affine(size)
        for axis, full in ((0, self.width_px), (1, self.height_px)):
            scale = source.shape[1 - axis] / full
            affine[axis] *= scale
            affine[axis, 2] += (scale - 1.0) / 2.0
        cut = cv2.warpAffine(
            source,
            affine,
            (size, size),
            flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP,
            borderMode=cv2.BORDER_REPLICATE if extend_edge else cv2.BORDER_CONSTANT,
        )
        return np.asarray(cut, np.uint8)
