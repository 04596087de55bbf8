"""The handstand as a planar chain: hand on the floor, arm, upper trunk with head, lower trunk, leg.

Frame: plane frame with the wrist at the origin, as seen with the left side near: x towards the
front of the body when she stands on her hands, y up. The fingers point to the side of her back, to
−x; falling towards the fingers is overbalance. The lean of a link is its angle from the vertical,
positive when its upper end stands towards the front. Elbows and knees are straight, the foot is
pointed in line with the shank and the head is in line with the trunk.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from chordline.core.geometry.angles import Floats
from chordline.core.mechanics.lengths import Lengths
from chordline.core.mechanics.parts import INDEX, POINTS, Parts, place_parts

#: Points that are on the chord when she is straight, from the floor up.
ON_LINE: Final = ("shoulder", "trunk", "hip", "knee")
#: Joints with a moment, from the floor up, and the sense in which each is signed: the knee bends
#: the other way (conventions.py).
MOMENT_JOINTS: Final = ("wrist", "shoulder", "trunk", "hip", "knee")
SENSES: Final = np.array([1.0, 1.0, 1.0, 1.0, -1.0])
#: The links of a table that move with each turning link.
_RIDERS: Final = (
    ("forearm", "upper_arm"),
    ("upper_trunk", "head"),
    ("lower_trunk",),
    ("thigh", "shank", "foot"),
)


@dataclass(frozen=True)
class Support:
    """Where the hand can carry, along the floor from the wrist's axis [m].

    Attributes
    ----------
    heel_m, knuckles_m : (...) float arrays
        Front and back end; the knuckles are on the negative side.
    """

    heel_m: Floats
    knuckles_m: Floats

    def share_pct(self, x_m: Floats) -> Floats:
        """Return where a place is: 0 at the heel of the hand, 100 at the knuckles [%]."""
        return np.asarray(100.0 * (self.heel_m - x_m) / (self.heel_m - self.knuckles_m))

    def place_m(self, share_pct: Floats) -> Floats:
        """Return the place of a share of the support [m]."""
        return np.asarray(self.heel_m - share_pct / 100.0 * (self.heel_m - self.knuckles_m))


@dataclass(frozen=True)
class Chain:
    """A chain of n bodies, ready to be turned.

    With u the unit vector of a link's lean, points are `reach` · u and every first moment of mass
    above a joint is `weight` · u: all that the statics need is linear in the sines of the leans.

    Attributes
    ----------
    reach : (n, 5, 4) float array [m]
        For `ON_LINE` and the malleolus: how far along each turning link.
    weight : (n, 5, 4) float array [m]
        For `MOMENT_JOINTS`: first moment of all that is above, per body mass, by link.
    foot_m : (n,) float array [m]
    hand_moment_m : (n,) float array [m]
        First moment of the hands about the wrist, per body mass; flat on the floor.
    support : Support
    stature_m : float
    """

    reach: Floats
    weight: Floats
    foot_m: Floats
    hand_moment_m: Floats
    support: Support
    stature_m: float

    def __len__(self) -> int:
        return len(self.reach)

    def take(self, index: NDArray[np.intp]) -> "Chain":
        """Return some of the bodies, or one body as often as it is named."""
        return Chain(
            self.reach[index],
            self.weight[index],
            self.foot_m[index],
            self.hand_moment_m[index],
            Support(self.support.heel_m[index], self.support.knuckles_m[index]),
            self.stature_m,
        )

    def place_points(self, leans: Floats) -> Floats:
        """Return wrist, shoulder, trunk, hip, knee, malleolus and toe, (n, 7, 2) [m]."""
        units = np.stack([np.sin(leans), np.cos(leans)], axis=-1)
        points = self.reach @ units
        toe = points[:, -1] + self.foot_m[:, None] * units[:, -1]
        return np.concatenate([np.zeros((len(points), 1, 2)), points, toe[:, None]], axis=1)

    def locate_mass_centre(self, leans: Floats) -> Floats:
        """Return how far the whole body's centre of mass is in front of the wrist, (n,) [m]."""
        over = np.einsum("nj,nj->n", self.weight[:, 0], np.sin(leans))
        return np.asarray(over + self.hand_moment_m)

    def compute_moments(self, leans: Floats) -> Floats:
        """Return the net joint moments in weight × stature, (n, 5), by `MOMENT_JOINTS`.

        Positive acts to open the joint, in the joint's own sense (conventions.py): it is what the
        muscles must do where gravity closes. At the wrist opening is extension: pressing the
        fingers into the floor is negative. Statics only.
        """
        above = np.einsum("nij,nj->ni", self.weight, np.sin(leans))
        return np.asarray(SENSES * above / self.stature_m)


def openings_of(leans: Floats) -> Floats:
    """Return shoulder, trunk and hip openings, (n, 3) [rad], of leans (n, 4)."""
    return np.asarray(leans[:, :-1] - leans[:, 1:])


def leans_of(arm_lean: Floats, openings: Floats) -> Floats:
    """Return the leans (n, 4) [rad] of an arm's lean (n,) and openings (n, 3)."""
    return np.asarray(
        np.concatenate([arm_lean[:, None], arm_lean[:, None] - openings.cumsum(axis=1)], axis=1)
    )


def build_chain(parts: Parts, lengths: Lengths, support: Support, *, stature_m: float) -> Chain:
    """Return the chain of n bodies.

    Parameters
    ----------
    parts : Parts
    lengths : Lengths
        Each (n,) or of a shape that broadcasts to it; a scalar stands for one body.
    support : Support
    stature_m : float [m]
        Moments are given in weight × stature.

    Raises
    ------
    ValueError
        Where a length is missing or not positive, or the support has no length.
    """
    if len(lengths.shape) > 1:
        raise ValueError("lengths of a chain have one axis at most")
    n = (lengths.shape or (1,))[0]
    points = _straight_points(lengths, n)
    if not (np.diff(points[:, [INDEX[name] for name in _UPWARD], 1], axis=1) > 0.0).all():
        raise ValueError("every link of a chain needs a length")
    heights = {name: points[:, INDEX[name], 1] for name in POINTS}
    joints = [heights[name] for name in ("wrist", "shoulder", "trunk", "hip")]
    centres = place_parts(parts, points)[..., 1]
    moment = parts.mass * (centres - heights["wrist"][:, None])

    steps = np.diff(np.stack([*joints, heights["malleolus"]], axis=1), axis=1)
    reach = np.broadcast_to(steps[:, None, :], (n, 5, 4)) * np.tril(np.ones((5, 4)))
    reach[:, 3, 3] = heights["knee"] - heights["hip"]

    weight = np.zeros((n, 5, 4))
    for j, riders in enumerate(_RIDERS):
        on = parts.ride_on(*riders)
        above = parts.mass[parts.ride_on(*sum(_RIDERS[j + 1 :], ()))].sum()
        own = moment[:, on].sum(axis=1) - parts.mass[on].sum() * (joints[j] - joints[0])
        weight[:, : j + 1, j] = (own + above * steps[:, j])[:, None]
    below = parts.ride_on("shank", "foot")
    weight[:, 4, 3] = (parts.mass[below] * (centres[:, below] - heights["knee"][:, None])).sum(
        axis=1
    )

    hand = parts.ride_on("hand")
    out = parts.mass[hand] @ parts.along[hand] * np.broadcast_to(lengths.hand, (n,))
    edges = [np.broadcast_to(edge, (n,)) for edge in (support.heel_m, support.knuckles_m)]
    if not (edges[0] > edges[1]).all():
        raise ValueError("the heel of the hand must be in front of its knuckles")
    return Chain(
        reach=reach,
        weight=weight,
        foot_m=np.array(np.broadcast_to(lengths.foot, (n,))),
        hand_moment_m=np.asarray(-out),
        support=Support(*edges),
        stature_m=stature_m,
    )


_UPWARD: Final = ("wrist", "elbow", "shoulder", "trunk", "hip", "knee", "malleolus", "toe")


def _straight_points(lengths: Lengths, n: int) -> Floats:
    """Return (n, 10, 2) points of a vertical handstand; the hand is left out."""
    order = ("forearm", "upper_arm", "upper_trunk", "lower_trunk", "thigh", "shank", "foot")
    steps = np.stack([np.broadcast_to(getattr(lengths, name), (n,)) for name in order], axis=1)
    points = np.zeros((n, len(POINTS), 2))
    points[:, [INDEX[name] for name in _UPWARD[1:]], 1] = steps.cumsum(axis=1)
    points[:, INDEX["ear"], 1] = points[:, INDEX["shoulder"], 1] - lengths.head
    return points
