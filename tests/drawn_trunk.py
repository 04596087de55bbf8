"""A trunk drawn as a thick arc into a body mask: its outline is known to the last digit.

The middle line is a circular arc from hip to shoulder that goes on straight at both ends; the body
is everything nearer to it than half its thickness. So front and back outline are circles too, and
the turn between two rows follows from where they stand on the line from hip to shoulder.
"""

from dataclasses import dataclass

import numpy as np

from chordline.core.body.found import BodyMask
from chordline.core.body.outline import LAST_ROW
from stick_body import View

#: Size of the drawn mask [px], as the pose network's.
SIZE = 256


@dataclass(frozen=True)
class Trunk:
    """A trunk of length 1, hip at (0, 0), shoulder at (0, 1) in (front, up the body).

    Attributes
    ----------
    turn_deg : float
        How far it turns from hip to shoulder: + hollow, − rounded.
    thickness : float
    """

    turn_deg: float = 0.0
    thickness: float = 0.4

    def middle(self, share: np.ndarray) -> np.ndarray:
        """(front, up) of the middle line at shares of the way from hip to shoulder."""
        front, _ = self._circle(share, 0.0)
        return np.column_stack([front, share])

    def outline_turn_deg(self, side: float) -> float:
        """Turn of an outline between the first and the last row; +1 front, −1 back, 0 middle."""
        _, lean = self._circle(np.array([0.0, LAST_ROW]), side * self.thickness / 2.0)
        return float(np.rad2deg(lean[1] - lean[0]))

    def _circle(self, share: np.ndarray, out: float) -> tuple[np.ndarray, np.ndarray]:
        """Front coordinate, and angle of the normal, at shares of the way up the trunk."""
        if self.turn_deg == 0.0:
            return np.full(len(share), out), np.zeros(len(share))
        half = np.deg2rad(self.turn_deg) / 2.0
        radius = 0.5 / np.sin(half)  # signed: negative when rounded
        centre_front = -radius * np.cos(half)
        lean = np.arcsin((share - 0.5) / (radius + out))
        return centre_front + (radius + out) * np.cos(lean), lean

    def distance(self, places: np.ndarray) -> np.ndarray:
        """Distance of (..., 2) places (front, up) from the middle line with its straight ends."""
        front, up = places[..., 0], places[..., 1]
        half = np.deg2rad(self.turn_deg) / 2.0
        if half == 0.0:
            return np.abs(front)
        radius = 0.5 / np.sin(half)
        lean = np.arctan2((up - 0.5) / radius, (front + radius * np.cos(half)) / radius)
        across = np.hypot(front + radius * np.cos(half), up - 0.5)
        arc = np.where(np.abs(lean) <= abs(half), np.abs(across - abs(radius)), np.inf)
        ends = [
            _distance_to_ray(places, np.array([0.0, start]), np.array([-np.sin(half), way]))
            for start, way in ((0.0, -np.cos(half)), (1.0, np.cos(half)))
        ]
        return np.minimum(arc, np.minimum(*ends))


def _distance_to_ray(places: np.ndarray, start: np.ndarray, way: np.ndarray) -> np.ndarray:
    along = np.maximum((places - start) @ way, 0.0)
    return np.linalg.norm(places - start - along[..., None] * way, axis=-1)


@dataclass(frozen=True)
class Drawing:
    """A mask of a trunk as a view shows it, and where hip and shoulder are."""

    mask: BodyMask
    hip_px: np.ndarray
    shoulder_px: np.ndarray
    facing: int
    axes: np.ndarray
    length_px: float

    def to_body(self, xy_px: np.ndarray) -> np.ndarray:
        """(front, up) in trunk lengths of places in the photo."""
        return np.asarray((xy_px - self.hip_px) @ self.axes.T / self.length_px)

    def to_photo(self, places: np.ndarray) -> np.ndarray:
        """Photo pixels of (front, up) places."""
        return np.asarray(self.hip_px + places @ self.axes * self.length_px)


def draw(
    trunk: Trunk,
    view: View,
    *,
    length_px: float = 240.0,
    mask_px: float = 4.0,
    crop_turn_deg: float = 12.0,
    softness: float = 0.5,
    size: int = SIZE,
) -> Drawing:
    """Draw a trunk.

    Parameters
    ----------
    length_px : float
        Hip to shoulder in the photo.
    mask_px : float
        Photo pixels a mask pixel.
    crop_turn_deg : float
        How far the mask's crop is turned in the photo.
    softness : float
        Width of the soft edge [mask px].
    size : int
        Side of the mask [mask px].
    """
    axes = np.array([view.front, view.head])
    hip = np.array([700.0, 520.0])
    middle = hip + np.array([0.0, 0.5]) @ axes * length_px
    c, s = np.cos(np.deg2rad(crop_turn_deg)), np.sin(np.deg2rad(crop_turn_deg))
    turn = mask_px * np.array([[c, -s], [s, c]])
    affine = np.column_stack([turn, middle - turn @ np.full(2, (size - 1) / 2.0)])
    rows, columns = np.mgrid[0:size, 0:size]
    places = np.stack([columns, rows], axis=-1) @ turn.T + affine[:, 2]
    body = (places - hip) @ axes.T / length_px
    beyond_px = (trunk.distance(body) - trunk.thickness / 2.0) * length_px / mask_px
    alpha = 1.0 / (1.0 + np.exp(np.clip(beyond_px / softness, -50.0, 50.0)))
    return Drawing(
        mask=BodyMask(alpha.astype(np.float32), affine),
        hip_px=hip,
        shoulder_px=hip + np.array([0.0, 1.0]) @ axes * length_px,
        facing=1 if view.near == "left" else -1,
        axes=axes,
        length_px=length_px,
    )
