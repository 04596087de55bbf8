"""Which of the two sides of a tracked body is the near one, frame by frame."""

from dataclasses import dataclass

import numpy as np

from chordline.conventions import Side, side_of
from chordline.core.body.track import Track
from chordline.core.geometry.angles import Floats


@dataclass(frozen=True)
class NearSide:
    """The near side over a whole video: which, and how sure, 0.5 (a coin) to 1."""

    side: Side
    confidence: float


def guess_near(track: Track) -> NearSide:
    """Return the likelier near side of a track.

    Frames of one video are not independent, so their log-odds are averaged, not added; the median
    keeps single frames that went wrong from counting.
    """
    total = (track.front_log_odds + track.labels_log_odds)[track.seen]
    log_odds = float(np.median(total)) if len(total) else 0.0
    sure = 1.0 / (1.0 + np.exp(-abs(log_odds)))
    return NearSide(side_of(1 if log_odds >= 0.0 else -1), float(sure))


def split_near_far(track: Track) -> tuple[Floats, Floats]:
    """Return the near and the far side's landmarks, (n, 10, 2) each, NaN where lost.

    Notes
    -----
    A look may take left for right, in one frame and not in the next. Names are first made steady
    from frame to frame (the assignment nearer to the frame before), then each unbroken run gets
    its near side from all its frames together.
    """
    sides = track.sides_xy_px
    seen = track.seen
    near, far = np.full_like(sides[:, 0], np.nan), np.full_like(sides[:, 0], np.nan)
    for run in _runs(np.flatnonzero(seen)):
        part = sides[run]
        kept = np.linalg.norm(part[1:] - part[:-1], axis=-1).mean(axis=(1, 2))
        swapped = np.linalg.norm(part[1:, ::-1] - part[:-1], axis=-1).mean(axis=(1, 2))
        names = np.cumprod(np.append(1.0, np.where(swapped < kept, -1.0, 1.0)))
        left_is_near = float((names * track.labels_log_odds[run]).sum()) >= 0.0
        first = (names > 0.0) == left_is_near
        near[run] = np.where(first[:, None, None], part[:, 0], part[:, 1])
        far[run] = np.where(first[:, None, None], part[:, 1], part[:, 0])
    return near, far


def _runs(frames: np.ndarray) -> list[np.ndarray]:
    if not len(frames):
        return []
    return np.split(frames, np.flatnonzero(np.diff(frames) > 1) + 1)
