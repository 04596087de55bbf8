"""What a drawn figure is made from: its joint angles, and how long and thick its parts are."""

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from typing import Final, Literal

Limb = Literal["near", "far"]
LIMBS: Final[tuple[Limb, ...]] = ("near", "far")


@dataclass(frozen=True)
class Pose:
    """Joint angles of a figure that faces right when it stands [rad].

    Attributes
    ----------
    trunk : float
        Direction from hip to shoulder, counter-clockwise from the right: a quarter turn = upright,
        0 = on the stomach, a half turn = on the back.
    lower_back, upper_back, neck, hip, shoulder : float
        0 = straight; + opens the front, − closes it (`conventions`). Hip, shoulder and neck are
        read from the straight line hip to shoulder, so that the back may round or hollow between
        without moving them.
    knee, elbow : float
        0 = straight; − bent.
    ankle : float
        0 = pointed, in line with the shank; − pulled up.
    toes : float
        0 = in line with the foot; + bent back, as when the ball of the foot pushes the floor.
    wrist, fingers : float
        0 = in line with the forearm, the hand; + bent back, as when the hand pushes the floor.
    far_… : float or None
        The limb on the far side where it differs.
    nod : float
        The head on the neck: − = chin to the throat, + = chin up.
    push, spread : float [fraction of the trunk]
        How far the shoulders leave their place towards the head, and towards the front.
    """

    trunk: float
    lower_back: float = 0.0
    upper_back: float = 0.0
    neck: float = 0.0
    nod: float = 0.0
    hip: float = 0.0
    knee: float = 0.0
    ankle: float = 0.0
    toes: float = 0.0
    shoulder: float = 0.0
    elbow: float = 0.0
    wrist: float = 0.0
    fingers: float = 0.0
    far_hip: float | None = None
    far_knee: float | None = None
    far_ankle: float | None = None
    far_toes: float | None = None
    far_shoulder: float | None = None
    far_elbow: float | None = None
    far_wrist: float | None = None
    far_fingers: float | None = None
    push: float = 0.0
    spread: float = 0.0

    def of(self, joint: str, limb: Limb) -> float:
        """Return the angle of a limb's joint; the far one is as the near one where not given."""
        far = getattr(self, f"far_{joint}") if limb == "far" else None
        return float(getattr(self, joint) if far is None else far)

    def with_angle(self, joint: str, limb: Limb, angle: float) -> "Pose":
        """Return the pose with one joint of one limb otherwise."""
        name = f"far_{joint}" if limb == "far" else joint
        kept = {}
        if limb == "near" and getattr(self, f"far_{joint}") is None and self.far_differs(joint):
            kept = {f"far_{joint}": self.of(joint, "far")}
        return replace(self, **{name: angle, **kept})

    def far_differs(self, joint: str) -> bool:
        """Whether the far limb that the joint belongs to is posed on its own."""
        return any(getattr(self, f"far_{one}") is not None for one in chain_of(joint))


ARM: Final = ("shoulder", "elbow", "wrist", "fingers")
LEG: Final = ("hip", "knee", "ankle", "toes")


def chain_of(joint: str) -> tuple[str, ...]:
    """Return the joints of the limb that a joint belongs to."""
    return ARM if joint in ARM else LEG


@dataclass(frozen=True)
class Build:
    """Lengths of the drawn body [statures].

    Attributes
    ----------
    hand : from wrist to third knuckle.
    foot : from malleolus to the end of the big toe.
    head : from shoulder to ear.
    """

    trunk: float
    thigh: float
    shank: float
    foot: float
    upper_arm: float
    forearm: float
    hand: float
    head: float


def build_of(lengths: Mapping[str, float]) -> Build:
    """Return the build that a table of lengths as fractions of stature says."""
    return Build(**{one.name: lengths[one.name] for one in fields(Build) if one.name in lengths})
