"""Every measure that chordline can read off a side view, as a function of landmark arrays.

Degrees, percent and centimetres: this is where radians end. A measure whose landmarks are missing
is NaN. Which test reads which measures is a matter of the catalogue.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

import numpy as np

from chordline.core.body.points import BodyPoints
from chordline.core.geometry.angles import Floats, joint_opening, turn_towards_front
from chordline.core.geometry.chord import bow_fraction, largest_bow, rms_bow
from chordline.core.geometry.curve import DEGREE, Curve, fit_curve, sagitta_fraction, turning

#: The arm ends at the first of these among the body's names.
ARM_ENDS: Final = ("wrist", "elbow", "hand")


@dataclass(frozen=True)
class Measuring:
    """How one measure is computed.

    Attributes
    ----------
    unit : str
        ``deg``, ``pct`` or ``cm``.
    compute : callable
        BodyPoints of n bodies → (n,) float array.
    straight : bool
        Whether the measure changes in proportion to the landmarks within their errors. False where
        marks stand so close that it does not, or where it has a kink.
    """

    unit: str
    compute: Callable[[BodyPoints], Floats]
    straight: bool = True


@dataclass(frozen=True)
class Derived:
    """A measure of other measures with a kink, such as the largest of several bows.

    Attributes
    ----------
    unit : str
    of : tuple of str
        Names of the measures it rests on.
    compute : callable
        (..., len(of)) → (...) float array.
    """

    unit: str
    of: tuple[str, ...]
    compute: Callable[[Floats], Floats]


def _anatomical_deg(opening: Floats) -> Floats:
    """Return a joint's opening [deg] in −270 to 90: no joint opens a quarter turn past straight.

    Arms beside the body close the shoulder by about 180°. A little behind the trunk they close it
    by more, and must not read as wide open.
    """
    degrees = np.rad2deg(opening)
    return np.asarray(np.where(degrees > 90.0, degrees - 360.0, degrees))


def _opening(caudal: str, joint: str, cranial: str, sense: float = 1.0) -> Measuring:
    def compute(body: BodyPoints) -> Floats:
        facing = np.asarray(body.facing)
        angle = joint_opening(body.get(caudal), body.get(joint), body.get(cranial), facing)
        return _anatomical_deg(sense * angle)

    return Measuring("deg", compute)


def _arm_end(body: BodyPoints) -> Floats:
    return next((body.get(name) for name in ARM_ENDS if name in body.names), body.get("wrist"))


def _shoulder_opening(body: BodyPoints) -> Floats:
    angle = joint_opening(
        body.get("hip"), body.get("shoulder"), _arm_end(body), np.asarray(body.facing)
    )
    return _anatomical_deg(angle)


def _bow(landmark: str) -> Measuring:
    def compute(body: BodyPoints) -> Floats:
        if landmark not in body.chord[1:-1]:
            return np.full(len(body.xy_px), np.nan)
        points = body.get(landmark)[:, None, :]
        ends = body.get(body.chord[0]), body.get(body.chord[-1])
        return 100.0 * bow_fraction(points, *ends, np.asarray(body.facing))[:, 0]

    return Measuring("pct", compute)


def _from_horizontal(caudal: str, cranial: str) -> Measuring:
    """Rise of a line above the horizontal, positive when the named second end is the higher.

    −90 to 90: past the vertical it falls again.
    """

    def compute(body: BodyPoints) -> Floats:
        line = body.get(cranial) - body.get(caudal)
        up = line @ body.frame.up
        right = line @ np.array([-body.frame.up[1], body.frame.up[0]])
        angle = np.rad2deg(np.arctan2(up, np.abs(right)))
        return np.asarray(np.where((line != 0.0).any(axis=-1), angle, np.nan))

    return Measuring("deg", compute, straight=False)


def _from_vertical(cranial: str | None) -> Measuring:
    """Tilt from the vertical of the line from the feet, upside-down, to a landmark.

    Positive when the feet tip to the front; None stands for the chord's end.
    """

    def compute(body: BodyPoints) -> Floats:
        towards_head = body.get(cranial or body.chord[-1]) - body.get(body.chord[0])
        down = np.broadcast_to(-body.frame.up, towards_head.shape)
        return -np.rad2deg(turn_towards_front(down, towards_head, np.asarray(body.facing)))

    return Measuring("deg", compute)


def _trunk_axis(body: BodyPoints) -> tuple[Floats, Floats]:
    axis = body.get("shoulder") - body.get("hip")
    length = np.linalg.norm(axis, axis=-1, keepdims=True)
    with np.errstate(invalid="ignore"):
        return axis / length, length[:, 0]


def _neck_flexion(body: BodyPoints) -> Floats:
    axis, _ = _trunk_axis(body)
    neck = body.get("ear") - body.get("shoulder")
    return np.rad2deg(turn_towards_front(axis, neck, np.asarray(body.facing)))


def _ear_above_shoulder(body: BodyPoints) -> Floats:
    axis, length = _trunk_axis(body)
    neck = body.get("ear") - body.get("shoulder")
    along = (neck * axis).sum(axis=-1)
    return np.asarray(100.0 * along / length)


def _height_cm(landmark: str) -> Measuring:
    return Measuring("cm", lambda body: 100.0 * body.frame.height_m(body.get(landmark)))


def _of_curve(
    name: str, unit: str, read: Callable[[Curve, Floats], Floats], *, degree: int = DEGREE
) -> Measuring:
    def compute(body: BodyPoints) -> Floats:
        points = body.curve(name)
        if points is None:
            return np.full(len(body.xy_px), np.nan)
        return read(fit_curve(points, degree=degree), np.asarray(body.facing))

    return Measuring(unit, compute, straight=False)


MEASURES: Final = MappingProxyType(
    {
        "shoulder_opening_deg": Measuring("deg", _shoulder_opening),
        "hip_opening_deg": _opening("knee", "hip", "shoulder"),
        "knee_opening_deg": _opening("malleolus", "knee", "hip", sense=-1.0),
        "elbow_opening_deg": _opening("shoulder", "elbow", "wrist", sense=-1.0),
        "bow_knee_pct": _bow("knee"),
        "bow_hip_pct": _bow("hip"),
        "bow_shoulder_pct": _bow("shoulder"),
        "neck_flexion_deg": Measuring("deg", _neck_flexion),
        "ear_above_shoulder_pct": Measuring("pct", _ear_above_shoulder),
        "hip_height_cm": _height_cm("hip"),
        "legs_above_horizontal_deg": _from_horizontal("hip", "malleolus"),
        "trunk_above_horizontal_deg": _from_horizontal("hip", "shoulder"),
        "line_from_vertical_deg": _from_vertical(None),
        "trunk_from_vertical_deg": _from_vertical("shoulder"),
        "upper_back_hollow_deg": _of_curve(
            "back", "deg", lambda curve, facing: np.rad2deg(turning(curve, 0.5, 1.0, facing))
        ),
        "lower_back_hollow_deg": _of_curve(
            "back", "deg", lambda curve, facing: np.rad2deg(turning(curve, 0.0, 0.5, facing))
        ),
        "seam_bow_pct": _of_curve(
            "seam", "pct", lambda curve, facing: 100.0 * sagitta_fraction(curve, facing)
        ),
        "seam_hollow_deg": _of_curve(
            "seam", "deg", lambda curve, facing: np.rad2deg(turning(curve, 0.0, 1.0, facing))
        ),
        "trunk_hollow_deg": _of_curve(
            "belly",
            "deg",
            lambda curve, facing: np.rad2deg(turning(curve, 0.0, 1.0, facing)),
            degree=2,
        ),
    }
)

_BOWS: Final = ("bow_knee_pct", "bow_hip_pct", "bow_shoulder_pct")

DERIVED: Final = MappingProxyType(
    {
        "bow_max_pct": Derived("pct", _BOWS, largest_bow),
        "bow_rms_pct": Derived("pct", _BOWS, rms_bow),
        "off_vertical_deg": Derived(
            "deg", ("line_from_vertical_deg",), lambda tilt: np.abs(tilt[..., 0])
        ),
    }
)

ALL_MEASURES: Final = (*MEASURES, *DERIVED)


def unit_of(name: str) -> str:
    """Return the unit of a measure."""
    return MEASURES[name].unit if name in MEASURES else DERIVED[name].unit


def compute_measures(body: BodyPoints, names: Sequence[str]) -> Floats:
    """Return measures of many bodies at once.

    Parameters
    ----------
    body : BodyPoints
        n bodies.
    names : sequence of str
        Measures out of `ALL_MEASURES`.

    Returns
    -------
    (n, len(names)) float array
        Each in the unit that its name carries; NaN where its landmarks are missing.

    Raises
    ------
    KeyError
        For a measure that does not exist.
    """
    columns = []
    for name in names:
        if name in MEASURES:
            columns.append(MEASURES[name].compute(body))
        else:
            rule = DERIVED[name]
            columns.append(rule.compute(compute_measures(body, rule.of)))
    return np.stack(columns, axis=-1) if columns else np.empty((len(body.xy_px), 0))
