"""A posed body set down: on the floor or what stands on it, hands where they reach."""

import cmath
import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from typing import Final

from chordline.core.figure.chain import Chain, bend, directions_of
from chordline.core.figure.flesh import Disc, Row, clothe
from chordline.core.figure.pose import Build, Limb, Pose

#: How far the trunk may be turned so that two places touch what they stand on [rad].
_MOST_TURN: Final = math.radians(75.0)
_TURNS: Final = 25
#: When a place counts as touching [statures], and after how many steps the search gives up.
_CLOSED: Final = 1e-9
_MOST_STEPS: Final = 60


@dataclass(frozen=True)
class Target:
    """Where a hand or foot is brought to.

    Attributes
    ----------
    by : complex [statures]
        From `of`; else from the floor below the first place that touches.
    of : str
        A place of the body; empty = the floor.
    """

    by: complex
    of: str = ""


@dataclass(frozen=True)
class Support:
    """What holds a pose and what its parts keep to.

    Attributes
    ----------
    on : mapping of place to float [statures]
        Height of what the place touches. With two, the body is turned until both do. Empty = the
        lowest place of all touches the floor.
    aim : mapping of direction to float [rad]
        Parts whose direction is given, whatever the trunk does, e.g. the foot level.
    reach : mapping of place to Target
        `hand`, `wrist` or `malleolus` (far ones as ``far_hand`` …) that are brought somewhere by
        bending shoulder and elbow, or hip and knee.
    head_on : float or None [statures]
        Height of what the head rests on: the neck bends until it does.
    along : float [statures]
        Moves the first place that touches along the floor.
    """

    on: Mapping[str, float] = field(default_factory=dict)
    aim: Mapping[str, float] = field(default_factory=dict)
    reach: Mapping[str, Target] = field(default_factory=dict)
    head_on: float | None = None
    along: float = 0.0


@dataclass(frozen=True)
class Figure:
    """A body that stands.

    Attributes
    ----------
    pose : Pose
        As it stands: with the turns that support, aims and reaches made.
    joints : mapping of name to complex [statures]
        y = 0 on the floor, x = 0 at the first place that touches (`Support.along` moves it).
    spine : tuple of complex
    parts : mapping of name to Row
    """

    pose: Pose
    joints: Mapping[str, complex]
    spine: tuple[complex, ...]
    parts: Mapping[str, Row]

    def place(self, name: str) -> tuple[Disc, ...]:
        """Return the discs of a place of the body, e.g. ``heel``."""
        return discs_of(self.parts, name)

    def point(self, name: str) -> complex:
        """Return the middle of a place, or a joint."""
        if name in self.joints:
            return self.joints[name]
        discs = self.place(name)
        return sum(one.at for one in discs) / len(discs)

    @property
    def discs(self) -> tuple[Disc, ...]:
        """Every disc of the body."""
        return tuple(disc for row in self.parts.values() for disc in row)

    def mirrored(self) -> "Figure":
        """Return the figure that faces the other way."""
        return Figure(
            self.pose,
            {name: _flip(at) for name, at in self.joints.items()},
            tuple(_flip(at) for at in self.spine),
            {n: tuple(Disc(_flip(d.at), d.r) for d in row) for n, row in self.parts.items()},
        )


def _flip(at: complex) -> complex:
    return complex(-at.real, at.imag)


#: Places of the body as discs of a part: (part, first, last).
_TRUNK_PLACES: Final[Mapping[str, tuple[str, int, int]]] = {
    "seat": ("trunk", 0, 1),
    "lower_back": ("trunk", 2, 3),
    "upper_back": ("trunk", 4, 5),
    "shoulders": ("trunk", 5, 6),
    "crown": ("head", 0, 0),
    "forehead": ("head", 1, 1),
    "chin": ("head", 2, 2),
}
_LIMB_PLACES: Final[Mapping[str, tuple[str, int, int]]] = {
    "heel": ("foot", 0, 0),
    "ball": ("foot", 2, 3),
    "toe": ("foot", 3, 3),
    "knee": ("thigh", 2, 2),
    "hip": ("thigh", 0, 0),
    "malleolus": ("shank", 2, 2),
    "shoulder": ("arm", 0, 0),
    "elbow": ("arm", 2, 2),
    "forearm": ("arm", 2, 4),
    "wrist": ("hand", 0, 0),
    "palm": ("hand", 0, 1),
    "fingertip": ("hand", 2, 2),
}
PLACES: Final = frozenset(
    {
        *_TRUNK_PLACES,
        *_LIMB_PLACES,
        *(f"far_{name}" for name in _LIMB_PLACES),
        *("trunk", "neck", "head", "ear"),
        *("thigh", "shank", "foot", "arm", "hand"),
        *("far_thigh", "far_shank", "far_foot", "far_arm", "far_hand"),
    }
)


def discs_of(parts: Mapping[str, Row], name: str) -> tuple[Disc, ...]:
    """Return the discs of a place."""
    if name in parts:
        return parts[name]
    if name == "ear":
        return (parts["head"][0],)
    mark = "far_" if name.startswith("far_") else ""
    table = _TRUNK_PLACES if name in _TRUNK_PLACES else _LIMB_PLACES
    part, first, last = table[name.removeprefix(mark)]
    return parts[mark + part][first : last + 1]


def stand(pose: Pose, build: Build, support: Support) -> Figure:
    """Return the pose set down on its support.

    Raises
    ------
    ValueError
        Where no turn lets both places touch.
    """
    pose = _aim(pose, support.aim)
    if len(support.on) > 1:
        pose = _turn(pose, build, support)
    chain = bend(pose, build)
    shift = _shift(clothe(chain), support)
    if support.head_on is not None:
        pose = _rest_head(pose, build, support.head_on - shift.imag)
        chain = bend(pose, build)
    for place, target in support.reach.items():
        pose = _reach(pose, build, place, _goal(target, chain, shift) - shift)
        pose = _aim(pose, {k: v for k, v in support.aim.items() if _beyond(k, place)})
        chain = bend(pose, build)
    return Figure(
        pose,
        {name: at + shift for name, at in chain.joints.items()},
        tuple(at + shift for at in chain.spine),
        {
            name: tuple(Disc(disc.at + shift, disc.r) for disc in row)
            for name, row in clothe(chain).items()
        },
    )


def _beyond(aimed: str, place: str) -> bool:
    """Whether an aimed part hangs on the end of the limb that reaches."""
    same_side = aimed.startswith("far_") == place.startswith("far_")
    ends = ("foot", "toes") if place.endswith("malleolus") else ("hand", "fingers")
    return same_side and aimed.removeprefix("far_") in ends


def _lowest(parts: Mapping[str, Row], name: str) -> float:
    return min(disc.lowest for disc in discs_of(parts, name))


def _shift(parts: Mapping[str, Row], support: Support) -> complex:
    if not support.on:
        lowest = min(disc.lowest for row in parts.values() for disc in row)
        return complex(support.along, -lowest)
    # With two places both heights agree; the first one gives the place along the floor.
    first, height = next(iter(support.on.items()))
    discs = discs_of(parts, first)
    middle = sum(disc.at.real for disc in discs) / len(discs)
    return complex(support.along - middle, height - _lowest(parts, first))


def _goal(target: Target, chain: Chain, shift: complex) -> complex:
    if not target.of:
        return target.by
    if target.of in chain.joints:
        return chain.joints[target.of] + shift + target.by
    discs = discs_of(clothe(chain), target.of)
    return sum(disc.at for disc in discs) / len(discs) + shift + target.by


def _turn(pose: Pose, build: Build, support: Support) -> Pose:
    """Turn the trunk until the first two places both touch; the nearest way round."""
    (one, height), (other, other_height) = list(support.on.items())[:2]

    def gap(turn: float) -> float:
        turned = _aim(replace(pose, trunk=pose.trunk + turn), support.aim)
        parts = clothe(bend(turned, build))
        return (_lowest(parts, one) - height) - (_lowest(parts, other) - other_height)

    turn = _nearest_zero(gap)
    if turn is None:
        msg = f"{one} and {other} cannot both touch"
        raise ValueError(msg)
    return _aim(replace(pose, trunk=pose.trunk + turn), support.aim)


def _rest_head(pose: Pose, build: Build, height: float) -> Pose:
    """Bend the neck until the head's lowest place is at a height over the hip."""

    def gap(turn: float) -> float:
        parts = clothe(bend(replace(pose, neck=pose.neck + turn), build))
        return min(_lowest(parts, name) for name in ("head", "nose")) - height

    turn = _nearest_zero(gap)
    if turn is None:
        msg = "the head cannot rest there"
        raise ValueError(msg)
    return replace(pose, neck=pose.neck + turn)


def _nearest_zero(gap: Callable[[float], float]) -> float | None:
    """Return the turn nearest to none at which a gap closes; None where it closes nowhere."""
    step = _MOST_TURN / _TURNS
    here = (0.0, gap(0.0))
    ends = {1: here, -1: here}
    for k in range(1, _TURNS + 1):
        for sign, before in ends.items():
            after = (sign * k * step, gap(sign * k * step))
            if before[1] * after[1] <= 0.0:
                return _close(gap, before, after)
            ends[sign] = after
    return None


def _close(
    gap: Callable[[float], float], one: tuple[float, float], other: tuple[float, float]
) -> float:
    """Return where a gap closes between two turns (false position, Illinois).

    The lowest place changes from disc to disc, so the gap has kinks but no jumps.
    """
    for _ in range(_MOST_STEPS):
        if abs(other[1]) < _CLOSED or other[1] == one[1]:
            break
        turn = other[0] - other[1] * (other[0] - one[0]) / (other[1] - one[1])
        new = (turn, gap(turn))
        one = other if new[1] * other[1] < 0.0 else (one[0], one[1] / 2.0)
        other = new
    return other[0]


#: The joint that turns a part, and whether it turns it counter-clockwise.
_TURNS_BY: Final[Mapping[str, tuple[str, int]]] = {
    "head": ("nod", 1),
    "thigh": ("hip", -1),
    "shank": ("knee", 1),
    "foot": ("ankle", -1),
    "toes": ("toes", 1),
    "upper_arm": ("shoulder", 1),
    "forearm": ("elbow", -1),
    "hand": ("wrist", 1),
    "fingers": ("fingers", 1),
}
#: Parts with a direction of their own, from the trunk outwards.
AIMED: Final = (*_TURNS_BY, *(f"far_{part}" for part in _TURNS_BY if part != "head"))


def _aim(pose: Pose, aim: Mapping[str, float]) -> Pose:
    for part in AIMED:
        if part not in aim:
            continue
        limb: Limb = "far" if part.startswith("far_") else "near"
        joint, sense = _TURNS_BY[part.removeprefix("far_")]
        off = _wrap(aim[part] - directions_of(pose)[part])
        now = pose.nod if joint == "nod" else pose.of(joint, limb)
        pose = _set(pose, joint, limb, now + sense * off)
    return pose


def _set(pose: Pose, joint: str, limb: Limb, angle: float) -> Pose:
    return replace(pose, nod=angle) if joint == "nod" else pose.with_angle(joint, limb, angle)


def _reach(pose: Pose, build: Build, place: str, goal: complex) -> Pose:
    """Bend a limb's two joints so that its place comes to the goal, or straight towards it."""
    limb: Limb = "far" if place.startswith("far_") else "near"
    chain = bend(pose, build)
    mark = "far_" if limb == "far" else ""
    end = place.removeprefix("far_")
    if end == "malleolus":
        root, one, two = chain.joints[f"{mark}hip"], build.thigh, build.shank
    else:
        two = build.forearm + (build.hand if end == "hand" else 0.0)
        root, one = chain.joints[f"{mark}shoulder"], build.upper_arm
    way = goal - root
    far = min(max(abs(way), abs(one - two) + 1e-9), one + two)
    heading = cmath.phase(way)
    at_root = math.acos(min(1.0, max(-1.0, (one**2 + far**2 - two**2) / (2.0 * one * far))))
    bent = math.pi - math.acos(min(1.0, max(-1.0, (one**2 + two**2 - far**2) / (2.0 * one * two))))
    if end == "malleolus":
        hip = pose.trunk + math.pi - (heading + at_root)
        pose = pose.with_angle("hip", limb, _near(hip, -math.pi / 3.0))
        return pose.with_angle("knee", limb, -bent)
    shoulder = heading - at_root - pose.trunk
    pose = pose.with_angle("shoulder", limb, _near(shoulder, -math.pi / 2.0))
    pose = pose.with_angle("elbow", limb, -bent)
    return pose.with_angle("wrist", limb, 0.0) if end == "hand" else pose


def _wrap(angle: float) -> float:
    return (angle + math.pi) % (2.0 * math.pi) - math.pi


def _near(angle: float, about: float) -> float:
    """Return the same angle within half a turn of another."""
    return about + _wrap(angle - about)
