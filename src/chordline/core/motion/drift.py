"""How fast a measure drifts in a hold, with an error that knows that neighbours are alike."""

import numpy as np

from chordline.core.estimate import Estimate
from chordline.core.geometry.angles import Floats
from chordline.core.motion.noise import slope_factor, slope_weights
from chordline.core.motion.traces import Trace, Traces

#: Samples are thinned to this step before their likeness is estimated [s].
_THINNED_S = 0.4
_FEWEST = 8


def measure_drift(traces: Traces, trace: Trace, *, first: int, last: int) -> Estimate | None:
    """Return the slope [unit / s] of a measure between two samples, both included.

    Returns
    -------
    Estimate or None
        None where less than about three seconds are known.

    Notes
    -----
    Least squares. The residuals of a living body are alike for a second and more: their
    first-order correlation ρ, corrected for what the fit takes away, makes n samples worth
    n (1 − ρ) / (1 + ρ). The sd is never below what the landmarks' random error makes alone. The
    error that all samples share does not drift.
    """
    thin = max(1, round(_THINNED_S * traces.rate_hz))
    value = trace.value[first : last + 1]
    known = np.isfinite(value)
    if known[::thin].sum() < _FEWEST:
        return None
    t = traces.t_s[first : last + 1]
    slope, intercept = np.polyfit(t[known] - t[0], value[known], 1)
    residual = value - intercept - slope * (t - t[0])
    few = residual[::thin]
    n = int(np.isfinite(few).sum())
    pairs = few[1:] * few[:-1]
    variance = float(np.nansum(few**2) / (n - 2))
    plain = float(np.nanmean(pairs) / np.nanmean(few**2)) if variance > 0.0 else 0.0
    # Kendall 1954, from memory: the estimate falls short by about (1 + 3ρ)/n, by more with a slope.
    likeness = float(np.clip(plain + (2.0 + 4.0 * plain) / n, 0.0, 0.95))
    spread = float(np.nansum((t[::thin] - t[known].mean()) ** 2 * np.isfinite(few)))
    alive = np.sqrt(variance * (1.0 + likeness) / (1.0 - likeness) / spread)
    own = _noise_slope(traces, trace, first, last)
    return Estimate(float(slope), float(max(alive, own)))


def _noise_slope(traces: Traces, trace: Trace, first: int, last: int) -> float:
    """Return the sd of the slope from the landmarks' random error alone."""
    count = last - first + 1
    noise = float(np.nanmedian(trace.random_sd[first : last + 1]))
    return noise * slope_factor(traces.correlation, count, step_s=1.0 / traces.rate_hz)


def rolling_slope(values: Floats, count: int, *, step_s: float) -> Floats:
    """Return the fitted slope [per s] of `count` samples from each on, (n − count + 1,)."""
    windows = np.lib.stride_tricks.sliding_window_view(values, count)
    return np.asarray(windows @ slope_weights(count, step_s=step_s))
