"""Which side is near the camera: evidence from face, feet, depth and visibility.

In a side view the near side and the front are one unknown (`conventions`): feet and face show the
front, depth and visibility show the near side. Agreement of the two kinds makes the guess sure.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from chordline.adapters.pose.passes import Pass
from chordline.adapters.pose.roi import Floats
from chordline.conventions import LANDMARKS, SIDES, Side, side_of

_SHOULDER, _HIP, _EAR, _HEEL, _TOE = (
    LANDMARKS.index(name) for name in ("shoulder", "hip", "ear", "heel", "toe")
)
_DEPTH_OF: Final = [
    LANDMARKS.index(n) for n in ("shoulder", "elbow", "wrist", "hip", "knee", "malleolus")
]
_SEEN_OF: Final = [LANDMARKS.index(n) for n in ("elbow", "wrist", "knee", "malleolus")]

#: Log-odds of each kind of evidence where it is as clear as in a good side view, and the value
#: (in lengths of the trunk; visibility as it is) from which it counts as that clear.
#: Assumption, checked on rendered bodies: lower than their all-right rate would allow.
_FEET: Final = (1.2, 0.15)
_FACE: Final = (1.0, 0.08)
_DEPTH: Final = (1.2, 1.2)
_SEEN: Final = (0.8, 0.3)


@dataclass(frozen=True)
class SideEvidence:
    """Log-odds that the left side is near.

    Attributes
    ----------
    front : float
        From feet and face, whichever side the network calls left.
    labels : float
        From depth and visibility of what the network calls left and right.
    """

    front: float
    labels: float

    @property
    def total(self) -> float:
        """Sum of both."""
        return self.front + self.labels


def _vote(value: float, strength: tuple[float, float]) -> float:
    most, clear = strength
    return most * min(1.0, max(-1.0, value / clear))


def weigh_sides(seen: Pass) -> SideEvidence:
    """Return what one look says about the near side."""
    middle = seen.sides_xy_px.mean(axis=0)
    trunk = middle[_SHOULDER] - middle[_HIP]
    length = float(np.linalg.norm(trunk))
    if length == 0.0:
        return SideEvidence(0.0, 0.0)
    # The front of a body whose left side is near: the head's direction a quarter turned
    # counter-clockwise as seen, with y down.
    front = np.array([trunk[1], -trunk[0]]) / length
    feet = float((middle[_TOE] - middle[_HEEL]) @ front) / length
    face = float((seen.face_xy_px - middle[_EAR]) @ front) / length
    depth = float((seen.depth_px[1] - seen.depth_px[0])[_DEPTH_OF].mean()) / length
    visible = float((seen.visibility[0] - seen.visibility[1])[_SEEN_OF].mean())
    return SideEvidence(
        front=_vote(feet, _FEET) + _vote(face, _FACE),
        labels=_vote(depth, _DEPTH) + _vote(visible, _SEEN),
    )


def guess_near_side(evidence: Sequence[SideEvidence]) -> tuple[Side, float]:
    """Return the likelier near side and the confidence in it, 0.5 to 1.

    Looks at one picture are not independent, so their log-odds are averaged, not added.
    """
    log_odds = float(np.mean([e.total for e in evidence])) if evidence else 0.0
    return side_of(1 if log_odds >= 0.0 else -1), 1.0 / (1.0 + math.exp(-abs(log_odds)))


def name_sides(seen: Pass, labels: float, near_side: Side) -> Floats:
    """Return (2, 10, 2) left and right of one look, so named that `near_side` is the nearer.

    A look that takes left for right would else pull the two sides into each other.
    """
    if labels * (1 if near_side == SIDES[0] else -1) < 0.0:
        return np.ascontiguousarray(seen.sides_xy_px[::-1])
    return seen.sides_xy_px
