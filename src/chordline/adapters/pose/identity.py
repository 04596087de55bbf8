"""Whether a body found anew is the one that was followed: by place, size, direction and time."""

import math
from dataclasses import dataclass
from typing import Final

#: Somebody larger or smaller by more than this is somebody else.
_SIZE_RATIO: Final = 1.4
#: How far hips may have gone, in lengths of the body: at once, and more for each second unseen.
#: Slow, because who passes in front of a lying gymnast has hips at about 0.8 of her length from
#: hers and is past within a second. Assumptions, tried on made videos.
_AT_ONCE: Final = 0.35
_PER_S: Final = 0.4
_FARTHEST: Final = 1.5


#: How far a body may have turned while nobody saw it: at once, and more for each second [deg].
_TURN_AT_ONCE_DEG: Final = 50.0
_TURN_PER_S_DEG: Final = 30.0
#: Who passes is past within this time, or has moved by more than this share of a length [s].
_STAYS_S: Final = 0.35
_STAYS_WITHIN: Final = 0.12


@dataclass(frozen=True)
class Whereabouts:
    """Where and how large a body was, which way its head pointed, and when [s, px].

    `turn_rad` is clockwise as seen, 0 = head up.
    """

    t_s: float
    hips_px: tuple[float, float]
    length_px: float
    turn_rad: float


def is_she(was: Whereabouts, now: Whereabouts) -> bool:
    """Return whether a body can be the one that was seen before."""
    turned = abs(math.degrees(math.remainder(now.turn_rad - was.turn_rad, math.tau)))
    may = _TURN_AT_ONCE_DEG + _TURN_PER_S_DEG * (now.t_s - was.t_s)
    return turned <= may and is_in_her_place(was, now)


def stays(before: Whereabouts, now: Whereabouts) -> bool:
    """Return whether somebody has stood still between two looks, long enough not to be passing."""
    gone = math.dist(before.hips_px, now.hips_px) / before.length_px
    return now.t_s - before.t_s >= _STAYS_S and gone <= _STAYS_WITHIN


def is_in_her_place(was: Whereabouts, now: Whereabouts) -> bool:
    """Return whether place and size fit, whichever way the body points."""
    ratio = max(was.length_px, now.length_px) / min(was.length_px, now.length_px)
    gone = math.dist(was.hips_px, now.hips_px) / was.length_px
    may = min(_AT_ONCE + _PER_S * (now.t_s - was.t_s), _FARTHEST)
    return ratio <= _SIZE_RATIO and gone <= may
