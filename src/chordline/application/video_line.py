"""The line of a followed body through a video, to be drawn over it."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from chordline.conventions import Side
from chordline.core.body.track import Track, join_tracks
from chordline.core.body.track_sides import guess_near, split_near_far
from chordline.core.geometry.angles import Floats
from chordline.core.motion.frame_noise import average_turns


@dataclass(frozen=True)
class VideoLine:
    """Her near side in every frame that was looked at.

    Attributes
    ----------
    t_s : (n,) float array [s]
        In the video's time.
    xy_px : (n, 10, 2) float array [px]
        Landmarks in the order of `conventions.LANDMARKS`, in pixels of the full upright frame; NaN
        where she was lost.
    near_side : Side
    """

    t_s: Floats
    xy_px: Floats
    near_side: Side


def line_of(pieces: Sequence[Track], *, scale: float, near_side: Side | None) -> VideoLine | None:
    """Return the line of the pieces of a track; None where she was never seen.

    Parameters
    ----------
    pieces : sequence of Track
        In pixels of the frames in which she was followed.
    scale : float
        Pixels of the full frame a pixel of those.
    near_side : Side or None
        As the measurement resolved it; None = as all frames say together.
    """
    if not pieces:
        return None
    track = join_tracks(pieces)
    if not track.seen.any():
        return None
    track = replace(track, sides_xy_px=(track.sides_xy_px + 0.5) * scale - 0.5)
    near = guess_near(track)
    nearer, farther = split_near_far(track)
    side = near_side or near.side
    line = nearer if side == near.side else farther
    # Neighbouring frames are looked at straight and mirrored by turns, which differ by degrees.
    return VideoLine(track.t_s, np.asarray(average_turns(line)), side)
