"""Error of averages and slopes of samples whose errors are alike in neighbours."""

import numpy as np

from chordline.core.geometry.angles import Floats


def average_factor(correlation: Floats, count: int) -> float:
    """Return the sd of an average over neighbouring samples, as a fraction of one sample's sd.

    Parameters
    ----------
    correlation : (m,) float array
        Between samples 0, 1, 2 … steps apart; none beyond.
    count : int
        Samples averaged, ≥ 1.
    """
    return _combined(np.full(count, 1.0 / count), correlation)


def slope_factor(correlation: Floats, count: int, *, step_s: float) -> float:
    """Return the sd of a fitted slope [per s] as a fraction of one sample's sd.

    Parameters
    ----------
    correlation, count
        As in `average_factor`; count ≥ 2.
    step_s : float
    """
    return _combined(slope_weights(count, step_s=step_s), correlation)


def slope_weights(count: int, *, step_s: float) -> Floats:
    """Return what to multiply evenly spaced samples by for their fitted slope [per s]."""
    centred = (np.arange(count) - 0.5 * (count - 1)) * step_s
    return np.asarray(centred / (centred @ centred))


def _combined(weights: Floats, correlation: Floats) -> float:
    """Return the sd of a weighted sum of samples with an sd of 1: √(Σ w_i w_j r_|i−j|)."""
    lags = correlation[: len(weights)]
    both = np.concatenate([lags[:0:-1], lags])
    middle = len(lags) - 1
    alike = np.convolve(weights, both)[middle : middle + len(weights)]
    return float(np.sqrt(max(float(weights @ alike), 0.0)))
