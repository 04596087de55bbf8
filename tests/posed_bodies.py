"""Planar children who know nothing of the capacity model, posed in the tests and marked.

A body is a leg, a trunk that is an arc, and an arm. What it does is stated by joint ranges and
contact, not by loads: the floor stops hips and arms that are longer than needed; an untucked pelvis
tilts the hips up to a limit; a body that lacks active range opens in a bend that saturates; closed
shoulders are paid for on the hands beyond a slack only. Constant offsets of each landmark, one set
a gymnast, and independent noise on each mark make the photo.

Angles in degrees, lengths in pixels. All arrays run over n gymnasts.
"""

from dataclasses import dataclass

import numpy as np

from chordline.core.body.measures import compute_measures
from chordline.core.body.points import BodyPoints
from chordline.core.geometry.angles import Floats

#: Lengths of shank, thigh, trunk and arm: a child of 1.35 m, 860 px from malleolus to wrist.
SHANK, THIGH, TRUNK, ARM = 185.0, 190.0, 225.0, 260.0
MARK_SD_PX = 3.0
#: Careful marks: a seam is short and turns little.
SEAM_SD_PX = 2.0
SEAM_MARKS = 9
#: Where a hand sets a joint, against where it is: 0.3 % of the body's line.
OFFSET_SD_PX = 2.6
NAMES = ("malleolus", "knee", "hip", "shoulder", "elbow", "wrist", "hand")
SEAM_NAMES = tuple(f"seam_{i}" for i in range(1, SEAM_MARKS + 1))
TESTS = (
    "prone-sides",
    "prone-out",
    "prone-overhead",
    "prone-raised",
    "prone-active",
    "supine-sides",
    "supine-braced",
    "supine-overhead",
    "handstand",
)
MEASURES = ("shoulder_opening_deg", "hip_opening_deg", "seam_hollow_deg")


@dataclass(frozen=True)
class Children:
    """True shortfalls of n children [deg], under the names of the capacities, and what is theirs.

    `natural` is the turn that her seam has by build; `effort` how much of an opening body she
    allows when she lacks active range.
    """

    hip_extension_deg: Floats
    shoulder_flexion_deg: Floats
    shoulder_active_lag_deg: Floats
    pelvic_tuck_deg: Floats
    natural: Floats
    effort: Floats


def draw_children(count: int, rng: np.random.Generator) -> Children:
    """Draw a mixed squad: skewed, since ranges have an end and active range is part of passive."""
    return Children(
        hip_extension_deg=-6.0 + rng.gamma(2.0, 5.0, count),
        shoulder_flexion_deg=-8.0 + rng.gamma(2.0, 6.5, count),
        shoulder_active_lag_deg=rng.gamma(1.3, 4.5, count),
        pelvic_tuck_deg=-4.0 + rng.gamma(1.6, 6.5, count),
        natural=rng.normal(0.0, 5.0, count),
        effort=rng.uniform(0.2, 1.0, count),
    )


def pose(test: str, child: Children) -> tuple[Floats, Floats, Floats]:
    """Return shoulder opening, hip opening and turn of the seam [deg]."""
    hip, shoulder = child.hip_extension_deg, child.shoulder_flexion_deg
    lag = child.shoulder_active_lag_deg
    untucked = np.maximum(child.pelvic_tuck_deg, 0.0)
    tilt = 12.0 * np.tanh(untucked / 20.0)
    off_floor = np.maximum(hip + tilt, 0.0)
    arms_beside = np.full_like(hip, -175.0)
    flat = child.natural + 5.0
    hollow = 8.0 + child.natural + 38.0 * np.tanh((np.maximum(hip, 0.0) + untucked) / 48.0)
    if test in ("prone-sides", "prone-out"):
        return arms_beside, -off_floor, flat
    if test == "prone-overhead":
        return np.minimum(-shoulder, 0.0), -off_floor, flat
    if test == "prone-raised":
        return -shoulder, -off_floor, flat
    if test == "prone-active":
        opened = child.effort * 14.0 * (1.0 - np.exp(-lag / 10.0))
        return -shoulder - lag, opened - off_floor, flat + 0.5 * opened
    if test == "supine-sides":
        return arms_beside, np.zeros_like(hip), hollow
    if test == "supine-braced":
        left = np.maximum(hip, 0.0) * 0.8 + 0.1 * untucked
        return arms_beside, np.zeros_like(hip), 2.0 + 0.6 * child.natural + left
    if test == "supine-overhead":
        lifted = 0.6 * np.maximum(shoulder - 4.0, 0.0)
        return np.minimum(-0.9 * shoulder, 0.0), np.zeros_like(hip), hollow + lifted
    if test == "handstand":
        closed = np.maximum(0.85 * shoulder + 0.6 * lag, -10.0)
        paid = 0.45 * np.maximum(closed - 6.0, 0.0)
        arched = 2.0 + child.natural + 0.4 * np.maximum(hip, 0.0) + 0.8 * untucked + paid
        return -closed, paid - 0.9 * off_floor, arched
    raise ValueError(f"no child is posed in '{test}'")


def draw_offsets(count: int, rng: np.random.Generator) -> Floats:
    """Draw where each gymnast's joints are set against where they are, (n, joints, 2) [px]."""
    return rng.normal(0.0, OFFSET_SD_PX, (count, len(NAMES), 2))


def mark(
    test: str, child: Children, offsets: Floats, rng: np.random.Generator, *, noise: float = 1.0
) -> tuple[Floats, BodyPoints]:
    """Return the measures, (n, 3) in the order of `MEASURES`, and the bodies as marked.

    `noise` multiplies the error of every mark.
    """
    joints, seam = _skeleton(*pose(test, child))
    xy = np.concatenate(
        [
            joints + offsets + rng.normal(0.0, noise * MARK_SD_PX, joints.shape),
            seam + rng.normal(0.0, noise * SEAM_SD_PX, seam.shape),
        ],
        axis=1,
    )
    body = BodyPoints((*NAMES, *SEAM_NAMES), xy, facing=1.0)
    return compute_measures(body, MEASURES), body


def _skeleton(shoulder: Floats, hip: Floats, hollow: Floats) -> tuple[Floats, Floats]:
    """Head to the left, belly down, left side near; the trunk lies along the picture."""

    def along(angle_deg: Floats, length: float) -> Floats:
        angle = np.deg2rad(angle_deg)
        return length * np.stack([np.cos(angle), np.sin(angle)], axis=-1)

    at_hip = np.zeros((len(hip), 2)) + np.array([800.0, 600.0])
    # An opening turns the leg up (behind the belly) and, in front, the arm up as well.
    knee = at_hip + along(-hip, THIGH)
    malleolus = knee + along(-hip, SHANK)
    at_shoulder = at_hip + np.array([-TRUNK, 0.0])
    arm = along(180.0 + shoulder, ARM)
    joints = [malleolus, knee, at_hip, at_shoulder]
    joints += [at_shoulder + share * arm for share in (0.55, 1.0, 1.15)]
    return np.stack(joints, axis=1), _arc(at_hip, hollow)


def _arc(at_hip: Floats, turn_deg: Floats) -> Floats:
    """A seam between 0.1 and 0.9 of the trunk that turns so far towards the belly (down)."""
    length = 0.8 * TRUNK
    half = np.deg2rad(np.where(np.abs(turn_deg) < 1e-3, 1e-3, turn_deg)) / 2.0
    angles = np.linspace(-1.0, 1.0, SEAM_MARKS)[None, :] * half[:, None]
    radius = (length / 2.0 / np.sin(half))[:, None]
    x = at_hip[:, :1] - 0.5 * TRUNK - radius * np.sin(angles)
    y = at_hip[:, 1:] + radius * (np.cos(angles) - np.cos(half)[:, None])
    return np.stack([x, y], axis=-1)
