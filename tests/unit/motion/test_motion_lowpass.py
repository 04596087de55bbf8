"""The filter by itself: what passes, what does not, no lag, and what is left of noise."""

import numpy as np
import pytest

from chordline.core.motion.lowpass import LowPass, correct_for_passes
from chordline.core.motion.residuals import analyse_residuals
from moving_bodies import even_times

AT_30 = LowPass(cutoff_hz=4.0, rate_hz=30.0)


@pytest.mark.parametrize("rate_hz", [25.0, 30.0, 240.0])
@pytest.mark.parametrize("passes", [2, 4])
def test_the_effective_cutoff_halves_the_power_at_any_rate(rate_hz: float, passes: int) -> None:
    t = even_times(40.0, rate_hz)
    wave = np.sin(2.0 * np.pi * 4.0 * t)
    out = LowPass(4.0, rate_hz, passes).smooth(wave)
    middle = slice(len(t) // 4, -len(t) // 4)
    assert out[middle].std() / wave[middle].std() == pytest.approx(np.sqrt(0.5), rel=1e-3)


def test_a_steady_movement_passes_unchanged_up_to_both_ends() -> None:
    line = 3.0 - 0.7 * even_times(5.0)
    assert AT_30.smooth(line) == pytest.approx(line, abs=1e-5)


def test_a_movement_stays_at_its_moment() -> None:
    t = even_times(10.0)
    step = np.tanh(6.0 * (t - 5.0))
    noisy = step + np.random.default_rng(0).normal(0.0, 0.1, len(t))
    lags = np.arange(-10, 11)
    out = AT_30.smooth(noisy)
    alike = [np.corrcoef(step[20:-20], np.roll(out, lag)[20:-20])[0, 1] for lag in lags]
    assert lags[int(np.argmax(alike))] == 0


def test_white_noise_is_left_as_told_in_the_middle_and_at_the_ends() -> None:
    rng = np.random.default_rng(1)
    out = AT_30.smooth(rng.normal(0.0, 2.0, (200, 4_000)))
    told = np.sqrt(AT_30.noise_variance(np.full(200, 4.0)))
    assert out.std(axis=1) == pytest.approx(told, rel=0.06)
    assert told[100] == pytest.approx(2.0 * AT_30.noise_gain, rel=1e-4)
    assert told[0] > 1.8 > 1.3 > told[100]


def test_noise_that_grows_is_left_where_it_is() -> None:
    sd = np.linspace(0.5, 3.0, 400)
    rng = np.random.default_rng(2)
    out = AT_30.smooth(rng.normal(0.0, 1.0, (400, 3_000)) * sd[:, None])
    assert out.std(axis=1) == pytest.approx(np.sqrt(AT_30.noise_variance(sd**2)), rel=0.07)


def test_neighbours_of_filtered_noise_are_alike_as_told() -> None:
    rng = np.random.default_rng(3)
    out = AT_30.smooth(rng.normal(0.0, 1.0, (60, 20_000)))[20:40]
    for lag in (1, 3, 6):
        seen = np.mean(out[0] * out[lag]) / np.mean(out[0] ** 2)
        assert seen == pytest.approx(AT_30.correlation[lag], abs=0.03)


def test_the_noise_bandwidth_is_that_of_the_power_response() -> None:
    # ∫dx/(1+x⁴)² = 3π/(8√2); far below the rate the warping does not count.
    fine = LowPass(4.0, 1_000.0)
    expected = 4.0 / correct_for_passes(2) * 3.0 * np.pi / (8.0 * np.sqrt(2.0))
    assert fine.noise_bandwidth_hz == pytest.approx(expected, rel=1e-3)


@pytest.mark.parametrize(("cutoff_hz", "rate_hz"), [(4.0, 8.0), (4.0, 7.5), (0.0, 30.0)])
def test_sampling_must_exceed_twice_the_cutoff(cutoff_hz: float, rate_hz: float) -> None:
    with pytest.raises(ValueError, match="twice the cut-off"):
        LowPass(cutoff_hz, rate_hz)


@pytest.mark.parametrize("passes", [0, 1, 3])
def test_an_odd_number_of_passes_would_lag(passes: int) -> None:
    with pytest.raises(ValueError, match="even number of passes"):
        LowPass(4.0, 30.0, passes)


def test_residual_analysis_finds_the_noise_and_a_cutoff_above_the_movement() -> None:
    t = even_times(30.0, 60.0)
    noise = np.random.default_rng(4).normal(0.0, 0.5, len(t))
    result = analyse_residuals(10.0 * np.sin(2.0 * np.pi * t) + noise, rate_hz=60.0)
    assert result.noise_rms == pytest.approx(0.5, rel=0.1)
    assert 1.0 < result.chosen_hz < 6.0
    assert (np.diff(result.rms) < 0.0).all()
