"""From joint angles to places of joints. Points are complex: x to the right, y up [statures]."""

import cmath
import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from itertools import accumulate

from chordline.core.figure.pose import LIMBS, Build, Pose

#: Steps along the back; the first half of them is the lower back.
_SPINE_STEPS = 16
#: How much of the foot is toes, and the fingers beyond the knuckle in lengths of the hand: set by
#: eye, for drawing only.
_TOES = 0.3
_FINGERS = 0.95


@dataclass(frozen=True)
class Chain:
    """Joints of a posed body with the hip at 0.

    Attributes
    ----------
    joints : mapping of name to complex
        Near ones by name (`knee`, `elbow` …), far ones as ``far_knee``; `hip`, `neck`, `ear`.
    spine : tuple of complex
        From the hip to the neck's root.
    tangents : tuple of complex
        Unit vectors along the spine, one a point.
    directions : mapping of name to float [rad]
        Of `neck`, `head`, `upper_arm`, `forearm`, `hand`, `fingers`, `thigh`, `shank`, `foot` and
        `toes`.
    """

    joints: Mapping[str, complex]
    spine: tuple[complex, ...]
    tangents: tuple[complex, ...]
    directions: Mapping[str, float]


def directions_of(pose: Pose) -> dict[str, float]:
    """Return where each part points [rad]; far ones as ``far_thigh`` …"""
    neck = pose.trunk + pose.neck
    found = {"neck": neck, "head": neck + pose.nod}
    for limb in LIMBS:
        mark = "far_" if limb == "far" else ""
        thigh = pose.trunk + math.pi - pose.of("hip", limb)
        shank = thigh + pose.of("knee", limb)
        foot = shank - pose.of("ankle", limb)
        upper = pose.trunk + pose.of("shoulder", limb)
        fore = upper - pose.of("elbow", limb)
        hand = fore + pose.of("wrist", limb)
        found[f"{mark}thigh"], found[f"{mark}shank"], found[f"{mark}foot"] = thigh, shank, foot
        found[f"{mark}toes"] = foot + pose.of("toes", limb)
        found[f"{mark}upper_arm"], found[f"{mark}forearm"] = upper, fore
        found[f"{mark}hand"] = hand
        found[f"{mark}fingers"] = hand + pose.of("fingers", limb)
    return found


def bend(pose: Pose, build: Build) -> Chain:
    """Return the joints of a pose."""
    shape, headings = _bent_back(pose.lower_back, pose.upper_back)
    along = cmath.rect(1.0, pose.trunk)
    spine = tuple(build.trunk * along * one for one in shape)
    front = along * -1j
    directions = directions_of(pose)
    joints: dict[str, complex] = {"hip": 0j, "neck": spine[-1]}
    joints["shoulder"] = spine[-1] + build.trunk * (pose.push * along + pose.spread * front)
    joints["far_shoulder"], joints["far_hip"] = joints["shoulder"], 0j
    joints["ear"] = spine[-1] + cmath.rect(build.head, directions["neck"])
    lengths = (
        ("hip", "knee", "thigh", build.thigh),
        ("knee", "malleolus", "shank", build.shank),
        ("malleolus", "ball", "foot", (1.0 - _TOES) * build.foot),
        ("ball", "toe", "toes", _TOES * build.foot),
        ("shoulder", "elbow", "upper_arm", build.upper_arm),
        ("elbow", "wrist", "forearm", build.forearm),
        ("wrist", "hand", "hand", build.hand),
        ("hand", "fingertip", "fingers", _FINGERS * build.hand),
    )
    for mark in ("", "far_"):
        for start, end, part, length in lengths:
            way = cmath.rect(length, directions[mark + part])
            joints[mark + end] = joints[mark + start] + way
    return Chain(joints, spine, tuple(along * one for one in headings), directions)


@lru_cache(maxsize=1024)
def _bent_back(
    lower_back: float, upper_back: float
) -> tuple[tuple[complex, ...], tuple[complex, ...]]:
    """Return a back of length 1 and its tangents, its ends on the x axis.

    Each half turns evenly along its length.
    """
    half = _SPINE_STEPS // 2
    turns = [lower_back / half] * half + [upper_back / half] * half
    ends = list(accumulate(turns, initial=0.0))
    # A step heads as the spine does at its middle.
    steps = (
        cmath.rect(1.0 / _SPINE_STEPS, end + turn / 2.0)
        for end, turn in zip(ends[:-1], turns, strict=True)
    )
    points = list(accumulate(steps, initial=0j))
    onto = cmath.rect(1.0, -cmath.phase(points[-1]))
    return (
        tuple(onto * one for one in points),
        tuple(onto * cmath.rect(1.0, one) for one in ends),
    )
