"""The filter against scipy's own design and its forwards-backwards run, and sway against scipy."""

import numpy as np
import pytest
from scipy import integrate, signal, stats

from chordline.core.motion.drift import measure_drift
from chordline.core.motion.lowpass import LowPass, correct_for_passes
from chordline.core.motion.sway import Path, Sway, measure_sway
from chordline.core.motion.traces import Trace, Traces


def one_pass_hz(cutoff_hz: float, rate_hz: float, passes: int) -> float:
    """Cut-off of one pass, corrected where the filter is designed: on the warped frequency."""
    warped = np.tan(np.pi * cutoff_hz / rate_hz) / correct_for_passes(passes)
    return float(np.arctan(warped) * rate_hz / np.pi)


@pytest.mark.parametrize(("cutoff_hz", "rate_hz"), [(4.0, 30.0), (2.0, 24.0), (6.0, 240.0)])
def test_the_coefficients_are_those_of_scipys_butterworth(cutoff_hz: float, rate_hz: float) -> None:
    expected = signal.butter(2, one_pass_hz(cutoff_hz, rate_hz, 2), fs=rate_hz)
    ours = LowPass(cutoff_hz, rate_hz).coefficients
    for mine, theirs in zip(ours, expected, strict=True):
        assert mine == pytest.approx(theirs, abs=1e-12)


@pytest.mark.parametrize("cutoff_hz", [1.0, 4.0, 9.0])
def test_forwards_and_backwards_is_scipys_filtfilt(cutoff_hz: float) -> None:
    filt = LowPass(cutoff_hz, 30.0)
    values = np.random.default_rng(1).normal(0.0, 1.0, (300, 2)).cumsum(axis=0)
    b, a = signal.butter(2, one_pass_hz(cutoff_hz, 30.0, 2), fs=30.0)
    theirs = signal.filtfilt(b, a, values, axis=0, padtype="odd", padlen=filt.reach)
    assert filt.smooth(values) == pytest.approx(theirs, abs=1e-9)


@pytest.mark.parametrize("passes", [2, 4])
def test_the_noise_gain_is_the_integral_of_the_power_response(passes: int) -> None:
    b, a = signal.butter(2, one_pass_hz(4.0, 30.0, passes), fs=30.0)

    def power(f: float) -> float:
        _, response = signal.freqz(b, a, worN=[f], fs=30.0)
        return float(np.abs(response[0]) ** (2 * passes))

    bandwidth, _ = integrate.quad(power, 0.0, 15.0)
    assert LowPass(4.0, 30.0, passes).noise_bandwidth_hz == pytest.approx(bandwidth, rel=1e-4)


def test_sway_is_what_scipy_and_numpy_say_of_the_same_path() -> None:
    rng = np.random.default_rng(2)
    x = LowPass(4.0, 30.0).smooth(rng.normal(0.0, 1.0, 900).cumsum() * 0.1)
    t = np.arange(900) / 30.0
    sway = measure_sway(Path(t, x, np.zeros(900), "cm", 4.0, np.ones(1)), most_lost_share=0.0)
    assert isinstance(sway, Sway)
    assert sway.rms_distance == pytest.approx(stats.tstd(x) * np.sqrt(899 / 900))
    assert sway.mean_distance == pytest.approx(np.linalg.norm(x - x.mean(), ord=1) / 900)
    variation = integrate.trapezoid(np.abs(np.diff(x) / np.diff(t)), t[:-1] + 1 / 60) + (
        0.5 * (abs(x[1] - x[0]) + abs(x[-1] - x[-2]))
    )
    assert sway.path == pytest.approx(variation)


def test_a_drift_in_independent_noise_has_the_slope_and_error_of_scipys_regression() -> None:
    # Samples 0.4 s apart, none alike: the correction for likeness then only adds a little.
    rng = np.random.default_rng(3)
    t = np.arange(400) * 0.4
    value = 0.05 * t + rng.normal(0.0, 1.0, 400)
    zero = np.zeros(400)
    traces = Traces(t, {}, 1.0, 2.5, np.ones(1))
    ours = measure_drift(traces, Trace(value, zero, zero), first=0, last=399)
    theirs = stats.linregress(t, value)
    assert ours is not None
    assert ours.value == pytest.approx(theirs.slope)
    assert ours.sd == pytest.approx(theirs.stderr, rel=0.1)
