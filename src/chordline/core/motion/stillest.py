"""The quietest moment of a video: where a test without a hold is measured."""

from collections.abc import Sequence

import numpy as np

from chordline.core.geometry.angles import Floats
from chordline.core.motion.drift import rolling_slope
from chordline.core.motion.traces import Traces


def find_stillest(traces: Traces, names: Sequence[str], *, settle_s: float) -> float | None:
    """Return the middle [s] of the time over which measures change least together, or None.

    Parameters
    ----------
    traces : Traces
    names : sequence of str
        Measures of one unit.
    settle_s : float

    Returns
    -------
    float or None
        None where no such time is seen whole.
    """
    count = traces.samples(settle_s)
    if len(traces.t_s) < count or not names:
        return None
    slopes: Floats = np.stack(
        [rolling_slope(traces.of[n].value, count, step_s=1.0 / traces.rate_hz) for n in names]
    )
    size = np.square(slopes).sum(axis=0)
    if not np.isfinite(size).any():
        return None
    at = int(np.nanargmin(size))
    return float(traces.t_s[at] + 0.5 * (count - 1) / traces.rate_hz)
