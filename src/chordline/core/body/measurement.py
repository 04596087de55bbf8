"""What one photo told: the record that every later step reads."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chordline.conventions import Front, Origin, Side
from chordline.core.estimate import Estimate


@dataclass(frozen=True)
class Mark:
    """One landmark in the upright picture: place and random error [px], and who set it."""

    x_px: float
    y_px: float
    sd_px: float
    origin: Origin


@dataclass(frozen=True)
class CardView:
    """The printed card as it stands in the picture.

    Attributes
    ----------
    id : int
        Number of the card: whose it is.
    corners_px : (4, 2) float array [px]
        Top left, top right, bottom right, bottom left of the black square.
    side_m : float
        Printed side of the black square [m].
    roll_deg : Estimate
        How far the camera was turned about its viewing axis; positive when uprights lean to the
        right in the picture.
    yaw_deg : Estimate
        How far the card's plane is turned about the vertical, 0 when square to the camera.
        Rough for a small card: the sd says how rough.
    distance_m : Estimate
    phone_height_m : Estimate
        Height of the camera above the floor on which the card stands.
    """

    id: int
    corners_px: NDArray[np.float64]
    side_m: float
    roll_deg: Estimate
    yaw_deg: Estimate
    distance_m: Estimate
    phone_height_m: Estimate


@dataclass(frozen=True)
class Scale:
    """Metres a pixel in the gymnast's plane; relative sd; where it came from."""

    m_per_px: float
    sd_rel: float
    origin: str


@dataclass(frozen=True)
class Measure:
    """One measure of a test.

    Attributes
    ----------
    value, sd : float
        Value and its random error (from the landmarks' errors), in `unit`.
    unit : str
    systematic : mapping of str to float
        Errors that another photo of the same kind would repeat, each as an sd in `unit`:
        `yaw`, `near_side_parallax`, `landmark_definition`. Kept apart from `sd`.
    """

    value: float
    sd: float
    unit: str
    systematic: Mapping[str, float]

    @property
    def total_sd(self) -> float:
        """Random and systematic errors together."""
        return float(np.sqrt(self.sd**2 + sum(s**2 for s in self.systematic.values())))


@dataclass(frozen=True)
class Trust:
    """Whether the measurement may be used as it is, and what speaks against it."""

    accepted: bool
    reasons: tuple[str, ...] = ()


@dataclass(frozen=True)
class Measurement:
    """Everything that one photo of one test told.

    `covariance` is the random covariance of the measures, in the order of `measures`.
    """

    photo: str
    test: str
    near_side: Side
    front: Front
    front_origin: str
    width_px: int
    height_px: int
    sha256: str
    card: CardView | None
    scale: Scale | None
    landmarks: Mapping[str, Mark]
    measures: Mapping[str, Measure]
    covariance: NDArray[np.float64]
    trust: Trust
    cautions: tuple[str, ...]
    model: str
