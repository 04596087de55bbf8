"""Landmark arrays with names: the input of every measure."""

from dataclasses import dataclass, field, replace
from typing import Final

import numpy as np

from chordline.conventions import MIN_CURVE_POINTS, curve_of
from chordline.core.geometry.angles import Floats
from chordline.core.geometry.plane import PlaneFrame

#: The chord's landmarks with the arms overhead, and with the arms elsewhere.
CHORD_TO_HAND: Final = ("malleolus", "knee", "hip", "shoulder", "hand")
CHORD_TO_SHOULDER: Final = ("malleolus", "knee", "hip", "shoulder")


@dataclass(frozen=True)
class BodyPoints:
    """One or many bodies, all marked with the same landmarks.

    Attributes
    ----------
    names : tuple of str
        Names of the k landmarks, curve points included.
    xy_px : (n, k, 2) float array [px]
        Photo frame; NaN where a landmark is missing.
    facing : float
        +1 with the left side near the camera, −1 with the right.
    chord : tuple of str
        Landmarks along the body from the chord's first end to its last.
    frame : PlaneFrame
        Gravity, and floor and scale where they are known.
    """

    names: tuple[str, ...]
    xy_px: Floats
    facing: float
    chord: tuple[str, ...] = CHORD_TO_HAND
    frame: PlaneFrame = field(default_factory=PlaneFrame.of_level_phone)

    def with_xy(self, xy_px: Floats) -> "BodyPoints":
        """Return the same landmarks at other places."""
        return replace(self, xy_px=xy_px)

    def get(self, name: str) -> Floats:
        """Return (n, 2) places of one landmark, NaN where it is not marked."""
        if name not in self.names:
            return np.full((len(self.xy_px), 2), np.nan)
        return self.xy_px[:, self.names.index(name)]

    def stack(self, names: tuple[str, ...]) -> Floats:
        """Return (n, len(names), 2) places of several landmarks."""
        return np.stack([self.get(name) for name in names], axis=1)

    def curve(self, name: str) -> Floats | None:
        """Return (n, c, 2) points of one of `CURVES` in order, or None with too few of them."""
        points = sorted(
            (point for point in self.names if curve_of(point) == name),
            key=lambda point: int(point.rpartition("_")[2]),
        )
        return self.stack(tuple(points)) if len(points) >= MIN_CURVE_POINTS else None
