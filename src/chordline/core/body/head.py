"""Where in a picture her head is, and where her body is, both too large rather than too small."""

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np

from chordline.core.body.measurement import Mark
from chordline.core.geometry.angles import Floats

#: Lengths as shares of stature [1], between landmarks beside each other along the body
#: (winter-2009, fig. 4.1, rounded). The longest that they make of her stature is taken: a length
#: seen at a slant makes her smaller than she is.
_SHARES: Final = (
    ("malleolus", "knee", 0.246),
    ("knee", "hip", 0.245),
    ("hip", "shoulder", 0.288),
    ("shoulder", "elbow", 0.186),
    ("elbow", "wrist", 0.146),
)
#: Assumption: a child's nose, chin, crown and bun lie within this share of her stature of the ear.
#: The ear stands about the middle of the head; an adult's is 0.13 of her stature from chin to
#: crown, a child of six's 0.17, so half of it is below 0.09, and the landmark is off by a few per
#: cent more.
_HEAD_ABOUT_EAR: Final = 0.12
#: Without an ear the head is somewhere about the head end of the trunk, bent forward or back.
_HEAD_BEYOND_SHOULDER: Final = 0.13
_HEAD_ABOUT_GUESS: Final = 0.25
#: An ear farther from the shoulder than this share of stature belongs to somebody else. Ear to
#: acromion is about 0.14.
_EAR_REACH: Final = 0.30
#: Assumption: how far her body reaches from the line along it, as shares of stature: a trunk is
#: about 0.12 of it deep, a thigh 0.08; and clothes, a tucked belly, marks that are a little off.
_TRUNK_REACH: Final = 0.11
_LIMB_REACH: Final = 0.075
#: Fingers reach beyond the knuckle; a foot without a mark on its toe beyond the ankle, by about
#: 0.12 (winter-2009: the foot is 0.152 long).
_FINGER_REACH: Final = 0.10
_FOOT_REACH: Final = 0.15
_ALONG: Final = ("malleolus", "knee", "hip", "shoulder", "elbow", "wrist", "hand")
_TRUNK: Final = frozenset(("hip", "shoulder"))


@dataclass(frozen=True)
class Head:
    """A circle that holds her head: centre [px, pixel centres at whole numbers] and radius [px]."""

    x_px: float
    y_px: float
    radius_px: float


@dataclass(frozen=True)
class Reach:
    """A line from one place to another, and how far about it her body may reach [px]."""

    start_px: tuple[float, float]
    end_px: tuple[float, float]
    reach_px: float


def find_head(landmarks: Mapping[str, Mark]) -> Head | None:
    """Return where her head is; None where that cannot be told.

    Parameters
    ----------
    landmarks : mapping of str to Mark

    Notes
    -----
    A circle and no outline of a face: it holds for every view, and for a head that is bent.
    """
    stature = _stature_px(landmarks)
    if stature is None:
        return None
    ear, shoulder = _at(landmarks, "ear"), _at(landmarks, "shoulder")
    if ear is not None:
        if shoulder is not None and float(np.hypot(*(ear - shoulder))) > _EAR_REACH * stature:
            return None
        radius = _HEAD_ABOUT_EAR * stature + 2.0 * landmarks["ear"].sd_px
        return Head(float(ear[0]), float(ear[1]), radius)
    hip = _at(landmarks, "hip")
    if shoulder is None or hip is None:
        return None
    along = shoulder - hip
    length = float(np.hypot(*along))
    if length == 0.0:
        return None
    centre = shoulder + _HEAD_BEYOND_SHOULDER * stature * along / length
    return Head(float(centre[0]), float(centre[1]), _HEAD_ABOUT_GUESS * stature)


def find_reaches(landmarks: Mapping[str, Mark]) -> tuple[Reach, ...]:
    """Return lines along her body that, with their reach, hold all of it but the head."""
    stature = _stature_px(landmarks)
    if stature is None:
        return ()
    places = [(name, at) for name in _ALONG if (at := _at(landmarks, name)) is not None]
    reaches = []
    for (first, start), (second, end) in pairwise(places):
        share = _TRUNK_REACH if {first, second} == _TRUNK else _LIMB_REACH
        reaches.append(Reach(_pair(start), _pair(end), share * stature))
    ankle, toe = _at(landmarks, "malleolus"), _at(landmarks, "toe")
    if ankle is not None:
        foot = _LIMB_REACH if toe is not None else _FOOT_REACH
        end = ankle if toe is None else toe
        reaches.append(Reach(_pair(ankle), _pair(end), foot * stature))
    last = _at(landmarks, "hand")
    if last is None:
        last = _at(landmarks, "wrist")
    if last is not None:
        reaches.append(Reach(_pair(last), _pair(last), _FINGER_REACH * stature))
    return tuple(reaches)


def _stature_px(landmarks: Mapping[str, Mark]) -> float | None:
    lengths = []
    for first, second, share in _SHARES:
        ends = _at(landmarks, first), _at(landmarks, second)
        if ends[0] is not None and ends[1] is not None:
            lengths.append(float(np.hypot(*(ends[1] - ends[0]))) / share)
    return max(lengths) if lengths and max(lengths) > 0.0 else None


def _at(landmarks: Mapping[str, Mark], name: str) -> Floats | None:
    mark = landmarks.get(name)
    return None if mark is None else np.array([mark.x_px, mark.y_px])


def _pair(at: Floats) -> tuple[float, float]:
    return float(at[0]), float(at[1])
