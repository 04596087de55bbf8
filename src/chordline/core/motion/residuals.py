"""Residual analysis: a cut-off read off the signal itself (an option, not the rule)."""

from dataclasses import dataclass

import numpy as np

from chordline.core.geometry.angles import Floats
from chordline.core.motion.lowpass import LowPass


@dataclass(frozen=True)
class Residuals:
    """What filters of rising cut-off take away.

    Attributes
    ----------
    cutoff_hz, rms : (m,) float arrays
        Cut-offs tried, and the root mean square of what each took away, in the signal's unit.
    noise_rms : float
        The straight part of the curve carried back to 0 Hz: the noise, if it is white.
    chosen_hz : float
        Cut-off that takes away as much as the noise.
    """

    cutoff_hz: Floats
    rms: Floats
    noise_rms: float
    chosen_hz: float


def analyse_residuals(values: Floats, *, rate_hz: float, tried: int = 60) -> Residuals:
    """Return the cut-off that residual analysis would choose.

    Parameters
    ----------
    values : (n,) float array
        Evenly spaced, without gaps.
    rate_hz : float
        Samples a second.
    tried : int
        How many cut-offs, up to 40 % of the rate.

    Notes
    -----
    The straight part is taken to be the upper half of the cut-offs, where only noise is left.
    Yu 1999 found the cut-off of this method significantly below the optimum, the more so at high
    rates (facts.md §8): take it as a lower end, look at the curve, and do not let it choose alone.
    Correlated noise, as networks make it, is taken for movement.
    """
    cutoffs = np.linspace(0.4 * rate_hz / tried, 0.4 * rate_hz, tried)
    rms = np.array(
        [
            np.sqrt(np.mean((values - LowPass(float(one), rate_hz).smooth(values)) ** 2))
            for one in cutoffs
        ]
    )
    upper = cutoffs >= 0.5 * cutoffs[-1]
    _, intercept = np.polyfit(cutoffs[upper], rms[upper], 1)
    noise = float(max(intercept, 0.0))
    below = np.flatnonzero(rms <= noise)
    chosen = float(cutoffs[below[0]]) if len(below) else float(cutoffs[-1])
    return Residuals(cutoffs, rms, noise, chosen)
