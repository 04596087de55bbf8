"""When a hold begins: in shape and still."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chordline.core.geometry.angles import Floats
from chordline.core.motion.drift import rolling_slope
from chordline.core.motion.noise import average_factor, slope_factor
from chordline.core.motion.shape import HoldRules, ShapeLimit, Stray, strays_by
from chordline.core.motion.traces import Traces


@dataclass(frozen=True)
class Readiness:
    """For every sample whether a hold could begin there, each (n,).

    Attributes
    ----------
    in_shape, still : bool arrays
        Of the time that starts with the sample.
    """

    in_shape: NDArray[np.bool_]
    still: NDArray[np.bool_]


def find_readiness(
    traces: Traces, limits: Sequence[ShapeLimit], rules: HoldRules, *, lean: float = 0.0
) -> Readiness:
    """Return where a hold could begin.

    Parameters
    ----------
    traces : Traces
    limits : sequence of ShapeLimit
    rules : HoldRules
    lean : float
        By how many of their random sd the mean and the slope are taken larger than they are: 0 for
        the best guess, ±1 to see what the errors make of the moment.

    Notes
    -----
    Means and fitted slopes over `settle_s`: a speed from sample to sample would be noise. Who sways
    to and fro about one place holds still in this sense.
    """
    n, count = len(traces.t_s), traces.samples(rules.settle_s)
    in_shape, still = np.zeros(n, dtype=bool), np.zeros(n, dtype=bool)
    if n < count:
        return Readiness(in_shape, still)
    starts = n - count + 1
    in_shape[:starts] = still[:starts] = True
    averaged = average_factor(traces.correlation, count)
    sloped = slope_factor(traces.correlation, count, step_s=1.0 / traces.rate_hz)
    for limit in limits:
        trace = traces.of[limit.measure]
        slope = rolling_slope(trace.value, count, step_s=1.0 / traces.rate_hz)
        sd = trace.random_sd[:starts]
        with np.errstate(invalid="ignore"):
            still[:starts] &= np.abs(slope) + lean * sloped * sd <= limit.still_per_s
            if limit.against == "line":
                off = rolling_mean(trace.value - limit.aligned, count)
                in_shape[:starts] &= strays_by(limit, off) + lean * averaged * sd <= limit.enter
    return Readiness(in_shape, still)


def rolling_mean(values: Floats, count: int) -> Floats:
    """Return the mean of `count` samples from each on, (n − count + 1,); NaN with one of them."""
    return np.asarray(np.lib.stride_tricks.sliding_window_view(values, count).mean(axis=-1))


def stray_from(traces: Traces, limit: ShapeLimit, rules: HoldRules, *, begin: int) -> Stray:
    """Return how far a measure strays from its shape, once it is known when the hold began.

    Notes
    -----
    Against her own start the error that all samples share falls out, and that of the start comes
    in: it is the same for every sample, so it takes the shared one's place.
    """
    trace = traces.of[limit.measure]
    if limit.against == "line":
        return Stray(limit, trace.value - limit.aligned, trace.random_sd, trace.common_sd)
    count = traces.samples(rules.settle_s)
    start = slice(begin, begin + count)
    own = float(np.mean(trace.random_sd[start])) * average_factor(traces.correlation, count)
    off = trace.value - float(np.mean(trace.value[start]))
    return Stray(limit, off, trace.random_sd, np.full(len(off), own))
