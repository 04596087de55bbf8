"""The pose estimator: find the people, look at each of them several times, fuse."""

import math
from typing import Final

import numpy as np
from numpy.typing import NDArray

from chordline.adapters.pose.finder import MIRROR_GATE_PCT, Finder, Sighting
from chordline.adapters.pose.fusion import fuse, fuse_masks
from chordline.adapters.pose.networks import Landmarker, TfliteDetector, TfliteLandmarker
from chordline.adapters.pose.passes import look
from chordline.adapters.pose.roi import Pyramid
from chordline.adapters.pose.weights import ChosenWeights
from chordline.core.body.found import FoundBody

#: Each body is looked at in these sizes and turns [deg] of its region, straight and mirrored. Turns
#: come in opposite pairs: a body that leans in the cut is drawn towards upright. More looks than
#: these gain nothing on rendered bodies.
_LOOKS: Final = ((0.9, -10.0), (0.9, 10.0), (1.12, 0.0))


class BlazePoseEstimator:
    """Implements `application.ports.PoseEstimator` with BlazePose on LiteRT.

    Parameters
    ----------
    finder : Finder
    network : Landmarker
        The landmark network that measures.
    model : str
        Its name, stored with every measurement.
    """

    def __init__(self, finder: Finder, network: Landmarker, *, model: str) -> None:
        self._finder = finder
        self._network = network
        self._model = model

    @classmethod
    def from_weights(cls, weights: ChosenWeights, *, threads: int = 2) -> "BlazePoseEstimator":
        """Open the chosen weights."""
        scout = TfliteLandmarker(weights.scout, threads=threads)
        network = (
            scout
            if weights.landmarks == weights.scout
            else TfliteLandmarker(weights.landmarks, threads=threads)
        )
        finder = Finder(TfliteDetector(weights.detector, threads=threads), scout)
        return cls(finder, network, model=weights.model)

    @property
    def model(self) -> str:
        """Name and version of the networks."""
        return self._model

    def find(self, rgb: NDArray[np.uint8]) -> tuple[FoundBody, ...]:
        """Return every person found in (h, w, 3) `rgb`, the longest first; may be empty."""
        picture = Pyramid(rgb)
        bodies = (self._measure(picture, one) for one in self._finder.find(picture))
        return tuple(body for body in bodies if body is not None)

    def _measure(self, picture: Pyramid, one: Sighting) -> FoundBody | None:
        regions = [
            one.roi.grown(growth, turned_rad=math.radians(turn_deg))
            for growth, turn_deg in _LOOKS
        ]
        pairs = [
            (look(self._network, picture, roi), look(self._network, picture, roi, mirrored=True))
            for roi in regions
        ]
        fused = fuse(pairs)
        if not fused.mirror_disagreement_pct <= MIRROR_GATE_PCT:
            return None
        return FoundBody(
            xy_px=fused.xy_px,
            sd_px=fused.sd_px,
            sides_xy_px=fused.sides_xy_px,
            near_side=fused.near_side,
            near_confidence=fused.near_confidence,
            mirror_disagreement_pct=fused.mirror_disagreement_pct,
            length_px=fused.length_px,
            mask=fuse_masks([seen for pair in pairs for seen in pair], one.roi),
        )
