"""The low-pass filter of landmarks: second-order Butterworth, run forwards and backwards.

Both ways together have no lag: a movement stays at the moment at which it happened.
"""

from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np

from chordline.core.geometry.angles import Floats

#: The kernel is cut where its envelope has fallen to e^−9, about 0.01 %.
_DECAY: Final = 9.0


def correct_for_passes(passes: int) -> float:
    """Return Winter's factor C: the cut-off of one pass is the wanted one divided by it.

    Parameters
    ----------
    passes : int
        ≥ 1; two for once forwards and once backwards.

    Notes
    -----
    C = (2^(1/n) − 1)^¼ for a second-order filter: n passes that each take 3 dB at the same
    frequency take 3·n dB together.

    References
    ----------
    facts.md §8 (BMClab/BMC, DataFiltering): .802 for two passes.

    Examples
    --------
    >>> round(correct_for_passes(2), 3)
    0.802
    """
    if passes < 1:
        raise ValueError("a filter runs at least once")
    return float((2.0 ** (1.0 / passes) - 1.0) ** 0.25)


@dataclass(frozen=True)
class LowPass:
    """A zero-lag low-pass filter.

    Attributes
    ----------
    cutoff_hz : float
        Effective cut-off: at it all passes together halve the power. Between 0 and half of
        `rate_hz`.
    rate_hz : float
        Samples a second, evenly spaced.
    passes : int
        Even: half forwards, half backwards.

    Raises
    ------
    ValueError
        When the rate is not above twice the cut-off, or the number of passes is odd.

    Notes
    -----
    The correction for the passes is made on the warped frequency tan(π f/rate), where the filter
    is designed, so the effective cut-off is exact at any rate. Dividing the frequency itself by C,
    as is often done, gives the same for rates far above the cut-off and about 4 % too much at
    30 Hz and 4 Hz.
    """

    cutoff_hz: float
    rate_hz: float
    passes: int = 2

    def __post_init__(self) -> None:
        """Refuse what cannot be filtered."""
        if not 0.0 < 2.0 * self.cutoff_hz < self.rate_hz:
            raise ValueError("sampling must exceed twice the cut-off")
        if self.passes < 2 or self.passes % 2:
            raise ValueError("only an even number of passes has no lag")

    @cached_property
    def coefficients(self) -> tuple[Floats, Floats]:
        """Numerator and denominator of one pass, (3,) each."""
        warped = np.tan(np.pi * self.cutoff_hz / self.rate_hz) / correct_for_passes(self.passes)
        k1, k2 = np.sqrt(2.0) * warped, warped**2
        a0 = k2 / (1.0 + k1 + k2)
        a1 = 2.0 * (k2 - 1.0) / (1.0 + k1 + k2)
        a2 = (1.0 - k1 + k2) / (1.0 + k1 + k2)
        return a0 * np.array([1.0, 2.0, 1.0]), np.array([1.0, a1, a2])

    @cached_property
    def reach(self) -> int:
        """Samples on either side beyond which a sample hardly counts."""
        pole = np.abs(np.roots(self.coefficients[1])).max()
        return int(np.ceil(_DECAY / -np.log(pole)))

    def smooth(self, values: Floats) -> Floats:
        """Return the values without what is faster than the cut-off.

        Parameters
        ----------
        values : (n, ...) float array
            Without gaps, evenly spaced in time along the first axis.

        Notes
        -----
        Both ends are continued by their own mirror image, turned about the last value, so a
        steady movement goes on steadily; the ends are therefore hardly smoothed
        (`noise_variance` knows).
        """
        n = len(values)
        if n < 2:
            return np.array(values, dtype=float)
        pad = min(self.reach, n - 1)
        before = 2.0 * values[0] - values[pad:0:-1]
        after = 2.0 * values[-1] - values[-2 : -pad - 2 : -1]
        out = np.concatenate([before, values, after])
        b, a = self.coefficients
        # Imported where it is used: it takes as long to load as everything else a command needs.
        from scipy.signal import lfilter, lfilter_zi  # noqa: PLC0415

        settled = lfilter_zi(b, a).reshape((2,) + (1,) * (values.ndim - 1))
        for _ in range(self.passes):
            # After each run the order is turned, so every second one runs backwards.
            out = lfilter(b, a, out, axis=0, zi=settled * out[:1])[0][::-1]
        return np.asarray(out[pad : pad + n])

    @cached_property
    def kernel(self) -> Floats:
        """The weights of the neighbours of a sample far from both ends, (2·2·reach + 1,)."""
        pulse = np.zeros(8 * self.reach + 1)
        pulse[4 * self.reach] = 1.0
        return self.smooth(pulse)[2 * self.reach : 6 * self.reach + 1]

    @property
    def noise_gain(self) -> float:
        """How much of the standard deviation of white noise is left, far from both ends."""
        return float(np.sqrt((self.kernel**2).sum()))

    @property
    def removed_share(self) -> float:
        """How much of the standard deviation of white noise is taken away: √(1 − 2h₀ + Σh²)."""
        return float(np.sqrt(1.0 - 2.0 * self.kernel.max() + self.noise_gain**2))

    @property
    def noise_bandwidth_hz(self) -> float:
        """Width of the perfect low-pass filter that would leave as much white noise."""
        return 0.5 * self.rate_hz * self.noise_gain**2

    @cached_property
    def correlation(self) -> Floats:
        """Correlation of filtered white noise at lags of 0, 1, 2 … samples."""
        whole = np.correlate(self.kernel, self.kernel, mode="full")
        half = whole[len(self.kernel) - 1 :]
        return np.asarray(half / half[0])

    def noise_variance(self, variance: Floats) -> Floats:
        """Return what is left of the variance of noise that is independent from sample to sample.

        Parameters
        ----------
        variance : (n, ...) float array
            Of each sample.

        Returns
        -------
        (n, ...) float array
            Ends included, where fewer neighbours share the work.
        """
        n, edge = len(variance), 2 * self.reach
        weights = self.smooth(np.eye(min(n, 2 * edge + 1))) ** 2
        if n <= 2 * edge + 1:
            return np.asarray(np.tensordot(weights, variance, axes=1))
        out = np.empty_like(variance, dtype=float)
        block = 2 * edge + 1
        out[:edge] = np.tensordot(weights[:edge], variance[:block], axes=1)
        out[-edge:] = np.tensordot(weights[-edge:], variance[-block:], axes=1)
        windows = np.lib.stride_tricks.sliding_window_view(variance, block, axis=0)
        out[edge:-edge] = windows @ weights[edge]
        return out
