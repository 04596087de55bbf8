"""Landmarks through time: from a video's frames to an even, filtered course."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chordline.core.body.points import BodyPoints
from chordline.core.geometry.angles import Floats
from chordline.core.motion.lowpass import LowPass
from chordline.core.motion.untold import Untold

#: The course is kept with so many samples a period of the cut-off; more would only take time.
_KEPT_PER_PERIOD = 8.0
_FEWEST_FRAMES = 8


@dataclass(frozen=True)
class Footage:
    """Landmarks as the frames of a video show them.

    Attributes
    ----------
    body : BodyPoints
        One body a frame; NaN where a landmark was lost.
    t_s : (n,) float array [s]
        Rising; the steps may differ.
    sd_px : (n, k) float array [px]
        Random error of each landmark along each axis, new in every frame.

    Raises
    ------
    ValueError
        When the parts do not fit, times do not rise, or a landmark that is there has no error.
    """

    body: BodyPoints
    t_s: Floats
    sd_px: Floats

    def __post_init__(self) -> None:
        """Refuse what is no course of frames."""
        n, k = self.body.xy_px.shape[:2]
        if self.t_s.shape != (n,) or self.sd_px.shape != (n, k):
            raise ValueError("times and errors must fit the frames")
        if not np.isfinite(self.t_s).all() or not (np.diff(self.t_s) > 0.0).all():
            raise ValueError("the times of the frames must rise")
        there = np.isfinite(self.body.xy_px).all(axis=-1)
        if not (self.sd_px[there] >= 0.0).all():
            raise ValueError("every landmark that is there needs an error of 0 px or more")

    @property
    def rate_hz(self) -> float:
        """Frames a second by the median step; NaN for fewer than two frames."""
        steps = np.diff(self.t_s)
        return float(1.0 / np.median(steps)) if len(steps) else float("nan")


@dataclass(frozen=True)
class Course:
    """Landmarks at even steps of time, filtered.

    Attributes
    ----------
    body : BodyPoints
        One body a sample; NaN where a landmark is lost.
    t_s : (n,) float array [s]
    random_sd_px : (n, k) float array [px]
        What the filter left of the random error; NaN where lost.
    seen_sd_px : (k,) float array [px]
        Random error along an axis as the frames themselves show it, from what the filter took
        away, were it white. Far above `sd_px` of the frames, these were told too small; far below,
        the errors remember themselves. NaN where never seen.
    cutoff_hz : float
        Effective cut-off of the filter.
    rate_hz : float
        Samples a second.
    frame_rate_hz : float
        Frames a second of the video.
    correlation : (m,) float array
        Of the random error between samples 0, 1, 2 … steps apart; none beyond.
    """

    body: BodyPoints
    t_s: Floats
    random_sd_px: Floats
    seen_sd_px: Floats
    cutoff_hz: float
    rate_hz: float
    frame_rate_hz: float
    correlation: Floats


def smooth_footage(
    footage: Footage,
    *,
    cutoff_hz: float,
    bridge_s: float,
    passes: int = 2,
    memory_s: float = 0.0,
) -> Course | Untold:
    """Return the filtered course of every landmark.

    Parameters
    ----------
    footage : Footage
    cutoff_hz : float
        Effective cut-off.
    bridge_s : float
        Longest time between two sightings of a landmark that is bridged by a straight line. What
        is lost for longer splits its course; the parts are filtered each for itself.
    passes : int
        Even.
    memory_s : float
        How long the random error of a landmark remembers itself, 0 for not at all: correlation
        falls to 1/e. Neighbouring frames look alike, so a network errs alike in them, and a filter
        takes away less.

    Returns
    -------
    Course or Untold
        Untold where the frame rate does not exceed twice the cut-off, or with too few frames.

    Notes
    -----
    The grid has the median step of the frames. White noise of variance σ² at steps a, put on a
    grid of steps d < a by straight lines, keeps its density at low frequencies: it counts as
    σ²·a/d a sample. A part shorter than half a period of the cut-off is treated as lost.
    """
    n = len(footage.t_s)
    if n < _FEWEST_FRAMES:
        return Untold("too-few-frames", float(n), float(_FEWEST_FRAMES))
    rate = footage.rate_hz
    if rate <= 2.0 * cutoff_hz * (1.0 + 1e-9):
        return Untold("frame-rate-too-low", rate, 2.0 * cutoff_hz)
    filt = LowPass(cutoff_hz, rate, passes)
    step_s = 1.0 / rate
    span = footage.t_s[-1] - footage.t_s[0]
    grid = footage.t_s[0] + step_s * np.arange(int(np.floor(span / step_s + 1e-6)) + 1)
    remembered = np.exp(-step_s / memory_s) if memory_s > 0.0 else 0.0
    raised = (1.0 + remembered) / (1.0 - remembered)

    k = len(footage.body.names)
    xy = np.full((len(grid), k, 2), np.nan)
    sd = np.full((len(grid), k), np.nan)
    shown = np.full(k, np.nan)
    for j in range(k):
        raw = footage.body.xy_px[:, j]
        taken = []
        for seen in _parts(footage.t_s, np.asarray(np.isfinite(raw).all(axis=-1)), bridge_s):
            t = footage.t_s[seen]
            # Half a step of grace: a frame that comes a little late must not cost its sample.
            inside = (grid >= t[0] - 1e-6 * step_s) & (grid <= t[-1] + 1e-6 * step_s)
            if inside.sum() < max(4, 0.5 * rate / cutoff_hz):
                continue
            at = grid[inside]
            even = np.stack([np.interp(at, t, raw[seen, axis]) for axis in (0, 1)], axis=-1)
            smooth = filt.smooth(even)
            taken.append(even - smooth)
            xy[inside, j] = smooth
            variance = footage.sd_px[seen, j] ** 2
            density = np.interp(at, t, variance * np.maximum(_shares(t) * rate, 1.0))
            left = filt.noise_variance(density) * raised
            sd[inside, j] = np.sqrt(np.minimum(left, np.interp(at, t, variance)))
        if taken:
            shown[j] = np.sqrt(np.mean(np.concatenate(taken) ** 2)) / filt.removed_share
    thin = max(1, int(rate / (_KEPT_PER_PERIOD * cutoff_hz)))
    return Course(
        body=footage.body.with_xy(xy[::thin]),
        t_s=grid[::thin],
        random_sd_px=sd[::thin],
        seen_sd_px=shown,
        cutoff_hz=cutoff_hz,
        rate_hz=rate / thin,
        frame_rate_hz=rate,
        correlation=filt.correlation[::thin],
    )


def _parts(t_s: Floats, seen: NDArray[np.bool_], bridge_s: float) -> Iterator[NDArray[np.intp]]:
    """Yield the frames of each part of a landmark's course that has no long gap."""
    frames = np.flatnonzero(seen)
    if not len(frames):
        return
    cuts = np.flatnonzero(np.diff(t_s[frames]) > bridge_s) + 1
    for part in np.split(frames, cuts):
        if len(part) >= 2:
            yield part


def _shares(t_s: Floats) -> Floats:
    """Return for how much time each frame stands: half of the steps before and after it [s]."""
    steps = np.diff(t_s)
    return 0.5 * (np.append(steps, steps[-1]) + np.insert(steps, 0, steps[0]))
