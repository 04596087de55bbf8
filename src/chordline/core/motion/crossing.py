"""When a noisy trace went over a limit, and between which times that may have been."""

from dataclasses import dataclass
from typing import Final

import numpy as np

from chordline.core.geometry.angles import Floats
from chordline.core.motion.noise import average_factor

#: Half the width of a 90 % interval in standard deviations.
SD_90: Final = 1.6448536269514722
#: Further averaging that is tried where the trace allows it [s to either side].
_HALF_WIDTHS_S: Final = (0.15, 0.3, 0.6, 1.2, 2.4)
#: How much more than by noise an average may differ from the trace before it counts as bending it.
_BENT = 1.35


@dataclass(frozen=True)
class Crossing:
    """A time with its 90 % interval [s].

    Attributes
    ----------
    at_s : float
    low_s, high_s : float
        Earliest and latest plausible.
    """

    at_s: float
    low_s: float
    high_s: float

    @property
    def sd_s(self) -> float:
        """A standard deviation that makes an interval of the same width."""
        return (self.high_s - self.low_s) / (2.0 * SD_90)


def locate_crossing(
    t_s: Floats,
    beyond: Floats,
    *,
    random_sd: Floats,
    common_sd: Floats,
    correlation: Floats,
    near: int,
) -> Crossing:
    """Return when a trace went from below 0 to above it.

    Parameters
    ----------
    t_s : (n,) float array [s]
        Evenly spaced.
    beyond : (n,) float array
        How far the trace is beyond its limit; NaN where lost.
    random_sd, common_sd : (n,) float arrays
        Errors that each sample has for itself (but alike in neighbours), and that all share.
    correlation : (m,) float array
        Of the random error, by lag.
    near : int
        The first sample that was found beyond.

    Notes
    -----
    A time is plausible as long as the trace there is within its 90 % error of the limit. A slow
    trace stays there for long and noise carries it in and out, so it is averaged first, as widely
    as it shows no bend near the crossing (compared with the narrower average; the widest that
    differs by no more than noise would make it is taken). Where the error all samples share is
    large against what is left of the trace, the interval ends where the trace does.
    """
    step = float(t_s[1] - t_s[0])
    known = np.isfinite(beyond)
    first = _run_start(known, near)
    last = _run_end(known, near)
    part = slice(first, last + 1)
    t, y, own, shared = t_s[part], beyond[part], random_sd[part], common_sd[part]
    path, factor = _average_widely(y, own, correlation, near - first, step_s=step)
    sd = np.maximum(np.hypot(factor * own, shared), 1e-12)
    cross = _last_rise(path, near - first)
    if cross is None:  # beyond from the first sample that is known
        return _within(t, t[0], path / sd, 0)
    at = _between(t, path, cross, 0.0)
    return _within(t, at, path / sd, cross)


def _within(t: Floats, at: float, z: Floats, cross: int) -> Crossing:
    """Return the interval about a crossing between samples `cross` and the next."""
    below = np.flatnonzero(z[: cross + 1] <= -SD_90)
    low = _between(t, z, int(below[-1]), -SD_90) if len(below) else float(t[0])
    above = np.flatnonzero(z[cross:] >= SD_90)
    if not len(above):
        return Crossing(float(at), min(low, float(at)), float(t[-1]))
    i = cross + int(above[0])
    high = _between(t, z, i - 1, SD_90) if i > 0 else float(t[0])
    return Crossing(float(at), min(low, float(at)), max(high, float(at)))


def _between(t: Floats, y: Floats, i: int, level: float) -> float:
    """Return where a line from sample i to the next meets a level."""
    if i + 1 >= len(t) or y[i + 1] == y[i]:
        return float(t[i])
    share = np.clip((level - y[i]) / (y[i + 1] - y[i]), 0.0, 1.0)
    return float(t[i] + share * (t[i + 1] - t[i]))


def _last_rise(path: Floats, near: int) -> int | None:
    """Return the last sample below 0 before `near`, looking ahead while still below there."""
    ahead = near
    while ahead < len(path) - 1 and path[ahead] < 0.0:
        ahead += 1
    below = np.flatnonzero(path[: ahead + 1] < 0.0)
    return int(below[-1]) if len(below) else None


def _run_start(known: Floats, i: int) -> int:
    lost = np.flatnonzero(~known[:i].astype(bool))
    return int(lost[-1]) + 1 if len(lost) else 0


def _run_end(known: Floats, i: int) -> int:
    lost = np.flatnonzero(~known[i:].astype(bool))
    return i + int(lost[0]) - 1 if len(lost) else len(known) - 1


def _average_widely(
    y: Floats, sd: Floats, correlation: Floats, near: int, *, step_s: float
) -> tuple[Floats, float]:
    """Return the widest average that does not bend the trace, and its sd as a share of `sd`."""
    path, factor = y, 1.0
    noise = float(np.median(sd))
    for width_s in _HALF_WIDTHS_S:
        half = round(width_s / step_s)
        if half < 1 or 2 * half + 1 > len(y):
            continue
        wider, share = average_evenly(y, half), average_factor(correlation, 2 * half + 1)
        about = slice(max(0, near - 2 * half), near + 2 * half + 1)
        # What both have in common does not differ: the variance of the difference is the
        # difference of the variances, as for nested least squares.
        expected = noise * np.sqrt(max(factor**2 - share**2, 0.0))
        if np.sqrt(np.mean((wider - path)[about] ** 2)) > _BENT * expected:
            break
        path, factor = wider, share
    return path, factor


def average_evenly(y: Floats, half: int) -> Floats:
    """Return averages over `half` samples to either side; fewer, but as many each, at the ends."""
    n = len(y)
    sums = np.concatenate([[0.0], np.cumsum(y)])
    i = np.arange(n)
    reach = np.minimum(half, np.minimum(i, n - 1 - i))
    return np.asarray((sums[i + reach + 1] - sums[i - reach]) / (2 * reach + 1))
