"""Whether a body in a live frame can be the one that was followed: by place, size and time."""

import math
from dataclasses import dataclass
from typing import Final

#: Somebody larger or smaller by more than this is somebody else (assumption: a turn out of the
#: picture's plane by 40° shortens her by a quarter).
_SIZE_RATIO: Final = 1.4
#: How far hips may have gone, in lengths of the body, at once and more for each second unseen
#: (assumption: on the mat she moves her own length a second at most; who walks past comes from
#: farther).
_AT_ONCE: Final = 0.35
_PER_S: Final = 0.7
_FARTHEST: Final = 1.5
#: Hips nearer than this share of the longer body belong to one body, as in photos.
_SAME_BODY: Final = 0.2


@dataclass(frozen=True)
class LivePlace:
    """Where the hips were, how long the body was [px], and when [s]."""

    at_s: float
    hips_px: tuple[float, float]
    length_px: float

    def may_become(self, now: "LivePlace") -> bool:
        """Return whether a later sighting can be of the same body."""
        ratio = max(self.length_px, now.length_px) / min(self.length_px, now.length_px)
        gone = math.dist(self.hips_px, now.hips_px) / self.length_px
        return ratio <= _SIZE_RATIO and gone <= min(
            _AT_ONCE + _PER_S * (now.at_s - self.at_s), _FARTHEST
        )

    def is_same_sighting(self, other: "LivePlace") -> bool:
        """Return whether two sightings in one frame lie too close for two bodies."""
        longest = max(self.length_px, other.length_px)
        return math.dist(self.hips_px, other.hips_px) < _SAME_BODY * longest
