"""What is kept of each frame of a track, gathered to pieces."""

from dataclasses import dataclass
from typing import Final

import numpy as np

from chordline.adapters.pose.identity import Whereabouts
from chordline.adapters.pose.passes import Pass, length_of
from chordline.adapters.pose.roi import Floats, Roi
from chordline.conventions import LANDMARKS
from chordline.core.body.track import Track

_HIP: Final = LANDMARKS.index("hip")
_NOTHING: Final = np.full((2, len(LANDMARKS), 2), np.nan)


@dataclass(frozen=True)
class Seen:
    """Her in one frame.

    Attributes
    ----------
    sides_xy_px : (2, 10, 2) float array [px]
    front, labels : float
        Log-odds that the left side is near.
    disagreement_pct : float
    next_roi : Roi
        Where to look next.
    shown : Pass
        The look that the next frame is compared with.
    length_px : float
    """

    sides_xy_px: Floats
    front: float
    labels: float
    disagreement_pct: float
    next_roi: Roi
    shown: Pass
    length_px: float

    @property
    def hips_px(self) -> tuple[float, float]:
        """Middle of both hips."""
        x, y = self.sides_xy_px[:, _HIP].mean(axis=0).tolist()
        return x, y


class PieceBuilder:
    """Gathers frames."""

    def __init__(self) -> None:
        self._t_s: list[float] = []
        self._seen: list[tuple[Floats, float, float, float, tuple[float, ...]]] = []

    def __len__(self) -> int:
        return len(self._t_s)

    def add(self, t_s: float, seen: Seen | None) -> None:
        """Add one frame; None = lost. Of the look only numbers are kept, no picture."""
        self._t_s.append(t_s)
        if seen is None:
            self._seen.append((_NOTHING, np.nan, np.nan, np.nan, (np.nan,) * 4))
            return
        roi = seen.next_roi
        self._seen.append(
            (
                seen.sides_xy_px,
                seen.front,
                seen.labels,
                seen.disagreement_pct,
                (roi.x_px, roi.y_px, roi.side_px, roi.turn_rad),
            )
        )

    def done(self) -> Track:
        """Return the piece."""
        sides, front, labels, apart, region = zip(*self._seen, strict=True)
        return Track(
            t_s=np.array(self._t_s),
            sides_xy_px=np.stack(sides),
            front_log_odds=np.array(front),
            labels_log_odds=np.array(labels),
            disagreement_pct=np.array(apart),
            region=np.array(region),
        )


def whereabouts_of(track: Track) -> Whereabouts | None:
    """Return where she was seen last, or None where she never was."""
    frames = np.flatnonzero(track.seen)
    if not len(frames):
        return None
    last = int(frames[-1])
    sides = track.sides_xy_px[last]
    x, y = sides[:, _HIP].mean(axis=0).tolist()
    turn_rad = float(track.region[last, 3])
    return Whereabouts(float(track.t_s[last]), (x, y), length_of(sides.mean(axis=0)), turn_rad)
