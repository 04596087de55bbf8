"""The shape of the exercises' drawings: angles in degrees, what touches what, what lies around."""

import math
from collections.abc import Iterator, Mapping
from typing import Annotated, Final, Self

from pydantic import Field, model_validator

from chordline.catalogue.schema import Record
from chordline.core.figure.pose import ARM, LEG, Pose
from chordline.core.figure.scene import Drawing, Posture, Prop, PropKind
from chordline.core.figure.stand import AIMED, PLACES, Support, Target

Angle = Annotated[float, Field(ge=-360, le=360)] | None
Share = Annotated[float, Field(ge=-0.4, le=0.4)] | None
Statures = Annotated[float, Field(ge=-3, le=3)]

#: Names of the joints that bring each reaching place to its target.
_REACHING: Final = {"hand": ARM[:2], "wrist": ARM[:2], "malleolus": LEG[:2]}
_AIMED_BY: Final = {
    "head": "nod",
    "thigh": "hip",
    "shank": "knee",
    "foot": "ankle",
    "toes": "toes",
    "upper_arm": "shoulder",
    "forearm": "elbow",
    "hand": "wrist",
    "fingers": "fingers",
}


class PostureEntry(Record):
    """A posture, or what is different in one; angles in degrees (`core.figure.pose.Pose`).

    Attributes
    ----------
    on : mapping of place to float [statures]
        What touches what is under it, and how high that is.
    aim : mapping of part to float [degrees]
        Direction of a part, 0 = to the right, 90 = up.
    reach : mapping of place to (place, x, y) or (x, y) [statures]
        Where a hand or foot is brought: beside another place, or over the floor.
    head_on : float [statures]
        Height of what the head rests on; the neck's own angle does away with it.
    along : float [statures]
        Moves the whole figure along the floor.
    """

    trunk: Angle = None
    lower_back: Angle = None
    upper_back: Angle = None
    neck: Angle = None
    nod: Angle = None
    hip: Angle = None
    knee: Angle = None
    ankle: Angle = None
    toes: Angle = None
    shoulder: Angle = None
    elbow: Angle = None
    wrist: Angle = None
    fingers: Angle = None
    far_hip: Angle = None
    far_knee: Angle = None
    far_ankle: Angle = None
    far_toes: Angle = None
    far_shoulder: Angle = None
    far_elbow: Angle = None
    far_wrist: Angle = None
    far_fingers: Angle = None
    push: Share = None
    spread: Share = None
    on: dict[str, Statures] | None = None
    aim: dict[str, float] = Field(default_factory=dict)
    reach: dict[str, tuple[str, Statures, Statures] | tuple[Statures, Statures]] = Field(
        default_factory=dict
    )
    head_on: Statures | None = None
    along: Statures | None = None

    @model_validator(mode="after")
    def _names_are_known(self) -> Self:
        for name in self.on or {}:
            _check(name, PLACES, "place")
        for name in self.aim:
            _check(name, AIMED, "part")
        for name, goal in self.reach.items():
            _check(name.removeprefix("far_"), _REACHING, "reaching place")
            if isinstance(goal[0], str):
                _check(goal[0], PLACES, "place")
        return self

    def angles(self) -> dict[str, float]:
        """Return the angles and shares that are given."""
        left_out = {"on", "aim", "reach", "head_on", "along"}
        return {k: v for k, v in self.model_dump(exclude=left_out).items() if v is not None}

    def changed(self, change: "PostureEntry") -> "PostureEntry":
        """Return the posture with what another says instead.

        A joint's own angle does away with the aim or the reach that turned it before; an aim does
        away with such a reach.
        """
        turned = set(change.angles()) | {_joint_of(part) for part in change.aim}
        aim = {k: v for k, v in self.aim.items() if _joint_of(k) not in change.angles()}
        head_on = None if "neck" in turned else self.head_on
        reach = {k: v for k, v in self.reach.items() if not turned & set(_joints_of(k))}
        return PostureEntry(
            **self.angles() | change.angles(),
            on=self.on if change.on is None else change.on,
            aim=aim | change.aim,
            reach=reach | change.reach,
            head_on=head_on if change.head_on is None else change.head_on,
            along=self.along if change.along is None else change.along,
        )

    def posture(self) -> Posture:
        """Return it as the figure takes it.

        Raises
        ------
        ValueError
            Where the trunk's direction is missing.
        """
        given = self.angles()
        if "trunk" not in given:
            msg = "the trunk's direction is missing"
            raise ValueError(msg)
        pose = Pose(**{k: v if k in _SHARES else math.radians(v) for k, v in given.items()})
        return Posture(
            pose,
            Support(
                dict(self.on or {}),
                {part: math.radians(way) for part, way in self.aim.items()},
                {place: _target(goal) for place, goal in self.reach.items()},
                self.head_on,
                self.along or 0.0,
            ),
        )


_SHARES: Final = frozenset({"push", "spread"})


def _check(name: str, known: object, what: str) -> None:
    if name not in known:  # type: ignore[operator]
        raise ValueError(f"no {what} is called '{name}'")


def _joint_of(part: str) -> str:
    mark = "far_" if part.startswith("far_") else ""
    return mark + _AIMED_BY[part.removeprefix("far_")]


def _joints_of(place: str) -> Iterator[str]:
    mark = "far_" if place.startswith("far_") else ""
    return (mark + joint for joint in _REACHING[place.removeprefix("far_")])


def _target(goal: tuple[str, float, float] | tuple[float, float]) -> Target:
    if len(goal) == 3:
        return Target(complex(goal[1], goal[2]), goal[0])
    return Target(complex(*goal))


class PropEntry(Record):
    """Something around her (`core.figure.scene.Prop`); `heading` in degrees."""

    kind: PropKind
    at: tuple[str, ...]
    to: str = ""
    left: Statures = 0.16
    right: Statures = 0.16
    height: Statures | None = None
    side: Annotated[int, Field(ge=-1, le=1)] = 1
    heading: float = 90.0
    by: tuple[Statures, Statures] = (0.0, 0.0)

    @model_validator(mode="after")
    def _names_are_known(self) -> Self:
        for name in (*self.at, *([self.to] if self.to else [])):
            _check(name, PLACES, "place")
        return self

    def prop(self) -> Prop:
        """Return it as the figure takes it."""
        given = self.model_dump() | {"heading": math.radians(self.heading), "by": complex(*self.by)}
        return Prop(**given)


class DrawingEntry(Record):
    """The drawing of one exercise.

    Attributes
    ----------
    base : str
        Key of ``drawings_bases.toml``.
    right : PostureEntry
        What is different from the base.
    fault, start : PostureEntry
        What is different from `right`: in the fault, and where the movement begins.
    props : tuple of PropEntry
    move : tuple of str
    look : str
        The place of the fault.
    floor : bool
    """

    base: str
    right: PostureEntry = PostureEntry()
    fault: PostureEntry
    start: PostureEntry | None = None
    props: tuple[PropEntry, ...] = ()
    move: tuple[str, ...] = ()
    look: str
    floor: bool = True

    @model_validator(mode="after")
    def _names_are_known(self) -> Self:
        for name in (*self.move, self.look):
            _check(name, PLACES, "place")
        return self


def draw_of(entry: DrawingEntry, bases: Mapping[str, PostureEntry]) -> Drawing:
    """Return an entry as the figure takes it.

    Raises
    ------
    ValueError
        Where the base is unknown or a posture has no direction.
    """
    base = bases.get(entry.base)
    if base is None:
        raise ValueError(f"no base is called '{entry.base}'")
    right = base.changed(entry.right)
    return Drawing(
        right=right.posture(),
        fault=right.changed(entry.fault).posture(),
        start=None if entry.start is None else right.changed(entry.start).posture(),
        props=tuple(prop.prop() for prop in entry.props),
        move=entry.move,
        look=entry.look,
        floor=entry.floor,
    )
