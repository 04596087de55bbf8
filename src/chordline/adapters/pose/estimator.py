"""The pose estimator: find the people, look at each of them several times, fuse."""

import math
import threading
from types import MappingProxyType
from typing import Final

import numpy as np
from numpy.typing import NDArray

from chordline.adapters.pose.finder import MIRROR_GATE_PCT, SAME_BODY, Finder, Sighting
from chordline.adapters.pose.fusion import fuse, fuse_masks
from chordline.adapters.pose.networks import Landmarker, TfliteDetector, TfliteLandmarker
from chordline.adapters.pose.passes import Pass, look
from chordline.adapters.pose.roi import Pyramid
from chordline.adapters.pose.weights import ChosenWeights
from chordline.conventions import LANDMARKS
from chordline.core.body.found import FoundBody

#: Sizes and turns [deg] of a body's region in which it is looked at, straight and mirrored. Turns
#: come in opposite pairs: a body that leans in the cut is drawn towards upright. More looks than
#: these gain nothing on rendered bodies; the spare ones outvote a look that went wrong.
_LOOKS: Final = ((0.9, -10.0), (0.9, 10.0))
_SPARE_LOOKS: Final = ((1.12, -10.0), (1.12, 10.0))

#: The heavy network's two heads err apart where a joint is a broad place on the body, and their
#: mean scatters less there. At the ends of the limbs its regression lags behind, and that of the
#: full network does so everywhere: there the heat map alone counts.
_HEAVY_REGRESSION_SHARE: Final = MappingProxyType({"shoulder": 0.5, "knee": 0.5, "hip": 0.15})

_HIP: Final = LANDMARKS.index("hip")


class BlazePoseEstimator:
    """Implements `application.ports.PoseEstimator` with BlazePose on LiteRT.

    Parameters
    ----------
    finder : Finder
    network : Landmarker
        The landmark network that measures.
    model : str
        Its name, stored with every measurement.

    Notes
    -----
    One picture is searched at a time: a network holds its input while it runs, and a coach may
    check a photo while others are being measured.
    """

    def __init__(self, finder: Finder, network: Landmarker, *, model: str) -> None:
        self._one_at_a_time = threading.Lock()
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
            else TfliteLandmarker(
                weights.landmarks, threads=threads, regression_share=_HEAVY_REGRESSION_SHARE
            )
        )
        finder = Finder(TfliteDetector(weights.detector, threads=threads), scout, network)
        return cls(finder, network, model=weights.model)

    @property
    def model(self) -> str:
        """Name and version of the networks."""
        return self._model

    def find(self, rgb: NDArray[np.uint8]) -> tuple[FoundBody, ...]:
        """Return every person found in (h, w, 3) `rgb`, the longest first; may be empty."""
        bodies: list[FoundBody] = []
        with self._one_at_a_time:
            picture = Pyramid(rgb)
            for one in self._finder.find(picture):
                body = self._measure(picture, one)
                if body is not None and not any(_is_same_body(body, other) for other in bodies):
                    bodies.append(body)
        return tuple(sorted(bodies, key=lambda body: -body.length_px))

    def _look_twice(
        self, picture: Pyramid, one: Sighting, growth: float, turn_deg: float
    ) -> tuple[Pass, Pass]:
        roi = one.roi.grown(growth, turned_rad=math.radians(turn_deg))
        return (
            look(self._network, picture, roi),
            look(self._network, picture, roi, mirrored=True),
        )

    def _measure(self, picture: Pyramid, one: Sighting) -> FoundBody | None:
        pairs = [self._look_twice(picture, one, *view) for view in _LOOKS]
        fused = fuse(pairs)
        if not fused.mirror_disagreement_pct <= MIRROR_GATE_PCT:
            pairs += [self._look_twice(picture, one, *view) for view in _SPARE_LOOKS]
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


def _is_same_body(one: FoundBody, other: FoundBody) -> bool:
    apart = float(np.linalg.norm(one.xy_px[_HIP] - other.xy_px[_HIP]))
    return apart < SAME_BODY * max(one.length_px, other.length_px)
