"""The moment at which a movement arrives upright, and the line there (back roll to handstand)."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import scipy  # its parts are loaded when they are used

from chordline.core.estimate import Estimate
from chordline.core.geometry.angles import Floats
from chordline.core.motion.drift import rolling_slope
from chordline.core.motion.noise import average_factor, slope_factor
from chordline.core.motion.onset import rolling_mean
from chordline.core.motion.traces import Traces
from chordline.core.motion.untold import Untold

#: The measure that tells upright: the line from the feet to the hands, upside-down.
LINE: Final = "line_from_vertical_deg"


@dataclass(frozen=True)
class ArrivalRules:
    """What counts as arrived.

    Attributes
    ----------
    within_deg : float
        Largest lean of the line off the vertical.
    still_deg_per_s : float
        Fastest turn of the line.
    settle_s : float
        Over so long lean and turn are averaged, and the measures read.
    certainty : float
        Smallest probability of both, 0.5 to 1.
    """

    within_deg: float
    still_deg_per_s: float
    settle_s: float
    certainty: float


@dataclass(frozen=True)
class Arrival:
    """The line when she arrives.

    Attributes
    ----------
    at_s : float
        Start of the time over which the measures are read.
    p_arrived : float
        Probability that the line was then as upright and as still as asked.
    measures : mapping of str to Estimate
        Means over that time with both kinds of error.
    random_sd : mapping of str to float
        The random part of it.
    """

    at_s: float
    p_arrived: float
    measures: Mapping[str, Estimate]
    random_sd: Mapping[str, float]


def find_arrival(traces: Traces, names: Sequence[str], rules: ArrivalRules) -> Arrival | Untold:
    """Return the first moment upright and still, and the measures there.

    Parameters
    ----------
    traces : Traces
        With `LINE` and all measures of `names`.
    names : sequence of str
    rules : ArrivalRules

    Returns
    -------
    Arrival or Untold
        ``never-upright`` with the closest lean [deg], ``never-still`` with the slowest turn while
        upright [deg/s], ``too-short`` for a video below `settle_s`.
    """
    count = traces.samples(rules.settle_s)
    line = traces.of[LINE]
    if len(line.value) < count:
        return Untold("too-short", len(line.value) / traces.rate_hz, rules.settle_s)
    step_s = 1.0 / traces.rate_hz
    mean, turn = rolling_mean(line.value, count), rolling_slope(line.value, count, step_s=step_s)
    random = rolling_mean(line.random_sd, count)
    mean_sd = np.hypot(
        random * average_factor(traces.correlation, count), rolling_mean(line.common_sd, count)
    )
    turn_sd = random * slope_factor(traces.correlation, count, step_s=step_s)
    upright = _p_within(mean, mean_sd, rules.within_deg)
    # Across ±180° the trace jumps; upside-down it is far from there.
    still = _p_within(turn, turn_sd, rules.still_deg_per_s)
    is_upright, is_still = upright >= rules.certainty, still >= rules.certainty
    if not np.isfinite(mean).any():
        return Untold("body-lost", 1.0 - float(np.isfinite(line.value).mean()))
    if not is_upright.any():
        return Untold("never-upright", float(np.nanmin(np.abs(mean))), rules.within_deg)
    both = is_upright & is_still
    if not both.any():
        slowest = float(np.abs(turn[is_upright]).min())
        return Untold("never-still", slowest, rules.still_deg_per_s)
    at = int(np.argmax(both))
    measures, own = {}, {}
    for name in names:
        trace = traces.of[name]
        part = slice(at, at + count)
        if not np.isfinite(trace.value[part]).all():
            continue
        own[name] = float(trace.random_sd[part].mean()) * average_factor(traces.correlation, count)
        total = float(np.hypot(own[name], trace.common_sd[part].mean()))
        measures[name] = Estimate(float(trace.value[part].mean()), total)
    return Arrival(float(traces.t_s[at]), float(min(upright[at], still[at])), measures, own)


def _p_within(value: Floats, sd: Floats, limit: float) -> Floats:
    """Return the probability that a value's size is at most a limit; 0 where it is not known."""
    sd = np.maximum(sd, 1e-12)
    p = scipy.special.ndtr((limit - value) / sd) - scipy.special.ndtr((-limit - value) / sd)
    return np.asarray(np.nan_to_num(p))
