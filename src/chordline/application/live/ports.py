"""What the live line needs from the world."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal, Protocol

import numpy as np
from numpy.typing import NDArray

from chordline.core.geometry.angles import Floats

#: Why nobody is followed in a frame.
Lost = Literal["nobody", "hidden", "not-in-position", "two-people"]
#: Whether a trunk from hip to shoulder, in pixels, has the posture of the test.
Fits = Callable[[Floats], bool]


@dataclass(frozen=True)
class LiveBody:
    """Her in one frame.

    Attributes
    ----------
    xy_px : (10, 2) float array [px]
        Landmarks in the order of `conventions.LANDMARKS`, of the side that looks nearer, whatever
        it is called.
    sd_px : (10,) float array [px]
        Random error of each landmark, per axis.
    near_log_odds : float
        That the left side is the near one.
    """

    xy_px: Floats
    sd_px: Floats
    near_log_odds: float


class Watch(Protocol):
    """Follows one gymnast from frame to frame of one camera."""

    def see(self, rgb: NDArray[np.uint8], *, at_s: float, fits: Fits) -> LiveBody | Lost:
        """Return her in the next frame, or why she is not followed; `at_s` rises."""
        ...


class LiveEye(Protocol):
    """Makes watches; they share its networks and are served one after the other."""

    def watch(self) -> Watch:
        """Return a watch that has seen nothing yet."""
        ...


class FrameReader(Protocol):
    """Reads one frame of a camera."""

    def read_frame(self, content: bytes) -> NDArray[np.uint8]:
        """Return the upright (h, w, 3) picture; raise `PictureError` where there is none."""
        ...
