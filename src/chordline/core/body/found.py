"""A body as an automatic finder reports it."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chordline.conventions import Side


@dataclass(frozen=True)
class BodyMask:
    """How much each pixel of a square crop belongs to the body.

    Attributes
    ----------
    alpha : (h, w) float array, 0 to 1
    crop_to_photo : (2, 3) float array
        Affine map from crop pixels (x, y, 1) to photo pixels.
    """

    alpha: NDArray[np.float32]
    crop_to_photo: NDArray[np.float64]


@dataclass(frozen=True)
class FoundBody:
    """One person in a picture, found without help.

    Attributes
    ----------
    xy_px : (10, 2) float array [px]
        Landmarks of the near side in the order of `conventions.LANDMARKS`. The far side is half
        hidden; averaging it in costs more than the near side's parallax.
    sd_px : (10,) float array [px]
        Random error of each landmark, per axis.
    sides_xy_px : (2, 10, 2) float array [px]
        The left and the right side apart; of use when the near side is told to be the other one.
    near_side : Side
        Best guess of the side nearer to the camera.
    near_confidence : float
        0.5 (a coin) to 1.
    mirror_disagreement_pct : float
        Mean distance between this answer and the answer in the mirrored picture, in % of the
        body's length. Right answers differ by about 1 %, wrong ones by more than 100 %.
    length_px : float
        Malleolus to ear along the body [px].
    mask : BodyMask or None
    """

    xy_px: NDArray[np.float64]
    sd_px: NDArray[np.float64]
    sides_xy_px: NDArray[np.float64]
    near_side: Side
    near_confidence: float
    mirror_disagreement_pct: float
    length_px: float
    mask: BodyMask | None = None
