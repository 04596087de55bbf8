"""One body through the frames of a video, as an automatic finder follows it."""

from collections.abc import Sequence
from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from chordline.core.geometry.angles import Floats


@dataclass(frozen=True)
class Track:
    """A body in n frames; NaN where it was lost.

    Attributes
    ----------
    t_s : (n,) float array [s]
        Rising; every frame that was looked at.
    sides_xy_px : (n, 2, 10, 2) float array [px]
        What the network calls left and right, landmarks in the order of `conventions.LANDMARKS`.
    front_log_odds, labels_log_odds : (n,) float arrays
        How likely the left side is near: from feet and face, and from what is called left.
    disagreement_pct : (n,) float array
        Distance from what the mirrored picture shows [% of the body's length].
    region : (n, 4) float array
        Where the next frame is looked at: x, y, side [px], turn [rad].
    """

    t_s: Floats
    sides_xy_px: Floats
    front_log_odds: Floats
    labels_log_odds: Floats
    disagreement_pct: Floats
    region: Floats

    @property
    def seen(self) -> NDArray[np.bool_]:
        """(n,) whether the body was there."""
        return np.asarray(np.isfinite(self.sides_xy_px).all(axis=(1, 2, 3)))


def join_tracks(pieces: Sequence[Track]) -> Track:
    """Return pieces, at least one, as one track."""
    return Track(
        **{
            part.name: np.concatenate([getattr(piece, part.name) for piece in pieces])
            for part in fields(Track)
        }
    )
