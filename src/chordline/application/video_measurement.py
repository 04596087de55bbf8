"""What one video of one test told."""

from collections.abc import Mapping
from dataclasses import dataclass

from chordline.application.video_sway import SwayTold
from chordline.core.body.measurement import Measurement
from chordline.core.capacity.observed import Held
from chordline.core.geometry.angles import Floats
from chordline.core.motion.hold import Hold

#: Doubts that make seconds a least: what was missed may have been part of the hold.
_AT_LEAST = ("begun-before-the-video", "end-not-seen", "lost-in-the-hold", "near-the-limit")


@dataclass(frozen=True)
class TraceTold:
    """One measure through time, each array (n,) [s; the measure's unit]; NaN where lost."""

    t_s: Floats
    value: Floats
    sd: Floats


@dataclass(frozen=True)
class Clip:
    """What was looked at.

    Attributes
    ----------
    from_s, to_s : float [s]
        Of the first and the last frame, in the video's time.
    frames : int
    rate_hz : float
        Frames a second that were looked at.
    seen_share : float
        Share of them in which she was found.
    cutoff_hz : float
        Of the filter behind traces and hold.
    key_s : float [s]
        The moment whose frame was measured as a photo is.
    arrived_s : float or None [s]
        Where a movement arrives upright.
    """

    from_s: float
    to_s: float
    frames: int
    rate_hz: float
    seen_share: float
    cutoff_hz: float
    key_s: float
    arrived_s: float | None = None


@dataclass(frozen=True)
class VideoMeasurement:
    """Everything that one video of one test told.

    Attributes
    ----------
    measurement : Measurement
        Of the best moment's frame, as of a photo; `photo` is the video's name.
    hold : Hold or None
    traces : mapping of measure to TraceTold
    clip : Clip
    sway : SwayTold or None
        Of a hold on the hands.
    """

    measurement: Measurement
    hold: Hold | None
    traces: Mapping[str, TraceTold]
    clip: Clip
    sway: SwayTold | None = None

    def held(self, *, timing_rel_sd: float) -> Held | None:
        """Return the hold as the capacity model takes it; None without one, or not trusted."""
        return self.timed(timing_rel_sd=timing_rel_sd) if self.measurement.trust.accepted else None

    def timed(self, *, timing_rel_sd: float) -> Held | None:
        """Return the hold likewise, whether the picture is trusted or not.

        Where the hold's end or beginning was not seen the seconds are a least, as after a
        stopwatch that was stopped: where her break cannot be excluded, the least that is sure.
        """
        if self.hold is None:
            return None
        at_least = self.hold.reached_cap or any(one in _AT_LEAST for one in self.hold.doubts)
        seconds = self.hold.seconds
        if at_least and self.hold.doubts:
            seconds = max(self.hold.low_s, 0.5)
        own = 0.0 if at_least else self.hold.sd / seconds
        return Held(
            source=self.measurement.photo,
            test=self.measurement.test,
            seconds=seconds,
            rel_sd=float((own**2 + timing_rel_sd**2) ** 0.5),
            reached_cap=at_least,
        )
