"""What must not matter to a body through time: when the clock started, where she lies, her size."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from chordline.core.motion.course import Footage
from chordline.core.motion.hold import Hold
from chordline.core.motion.holds import find_hold
from chordline.core.motion.live import ToneRules, ToneState, change_tone
from chordline.core.motion.lowpass import LowPass
from chordline.core.motion.sway import Path, Sway, measure_sway
from chordline.core.motion.traces import Traces
from moving_bodies import LIMITS, RULES, even_times, film, place_joints, ramp, traces_of

values = st.lists(st.floats(-50.0, 50.0), min_size=3, max_size=80).map(np.array)
filters = st.builds(LowPass, st.floats(0.5, 10.0), st.floats(24.0, 240.0))


@settings(max_examples=30)
@given(values, filters, st.floats(-9.0, 9.0), st.floats(-99.0, 99.0))
def test_the_filter_is_linear_and_leaves_a_standstill(
    x: np.ndarray, filt: LowPass, factor: float, shift: float
) -> None:
    assert filt.smooth(factor * x + shift) == pytest.approx(
        factor * filt.smooth(x) + shift, abs=1e-6
    )


@given(values, filters)
@settings(max_examples=30)
def test_the_filter_forgets_which_way_time_runs(x: np.ndarray, filt: LowPass) -> None:
    """But for the ends, whose continuation is cut where the filter hardly reaches."""
    long = np.concatenate([np.zeros(2 * filt.reach), x, np.zeros(2 * filt.reach)])
    assert filt.smooth(long[::-1])[::-1] == pytest.approx(filt.smooth(long), abs=0.05)


@given(st.integers(3, 300), filters)
@settings(max_examples=30)
def test_noise_never_grows_where_the_filter_reaches_and_is_always_some(
    n: int, filt: LowPass
) -> None:
    left = filt.noise_variance(np.ones(n))
    assert (left > 0.0).all()
    # The turned ends can raise the noise of the last sample a little, and only theirs.
    if n > 2 * filt.reach:
        assert left.max() < 1.3
        assert left[filt.reach : -filt.reach].max() < 1.0


@given(
    st.floats(-1e4, 1e4),
    st.floats(-180.0, 180.0),
    st.floats(0.5, 2.0),
    st.tuples(st.floats(-300.0, 300.0), st.floats(-300.0, 300.0)),
)
@settings(max_examples=8)
def test_a_hold_is_the_same_at_any_time_and_place_and_size(
    start_s: float, turn_deg: float, size: float, shift: tuple[float, float]
) -> None:
    t = even_times(9.0)
    xy = place_joints(t, hip=ramp(5.0, 15.0, 40.0))
    angle = np.deg2rad(turn_deg)
    rotation = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    plain = find_hold(traces_of(film(t, xy)), LIMITS, RULES)
    footage = film(t, size * xy @ rotation.T + np.array(shift), sd_px=6.0 * size)
    # Rounded, so that the time of a frame does not decide in its last digit.
    later = Footage(footage.body, np.round(t + start_s, 9), footage.sd_px)
    moved = find_hold(traces_of(later), LIMITS, RULES)
    assert isinstance(plain, Hold)
    assert isinstance(moved, Hold)
    assert moved.seconds == pytest.approx(plain.seconds, abs=0.02)
    assert moved.where == plain.where
    assert moved.sd == pytest.approx(plain.sd, rel=0.1)


@given(st.floats(0.1, 20.0), st.floats(-30.0, 30.0), st.floats(0.2, 2.0))
def test_sway_does_not_hang_on_where_she_stands_and_grows_with_her(
    size: float, place: float, hz: float
) -> None:
    t = np.arange(600) / 30.0
    x = np.sin(2.0 * np.pi * hz * t) + 0.3 * np.sin(2.0 * np.pi * 2.3 * hz * t + 1.0)

    def sway(front: np.ndarray) -> Sway:
        path = Path(t, front, np.zeros(600), "cm", 4.0, np.ones(1))
        result = measure_sway(path, most_lost_share=0.0)
        assert isinstance(result, Sway)
        return result

    one, other = sway(x), sway(place + size * x)
    assert other.mean_speed == pytest.approx(size * one.mean_speed)
    assert other.range == pytest.approx(size * one.range)
    assert other.mean_distance == pytest.approx(size * one.mean_distance)
    assert other.mean_frequency_hz == pytest.approx(one.mean_frequency_hz)
    assert one.mean_distance <= one.rms_distance <= one.range


@given(st.lists(st.floats(0.0, 30.0) | st.just(float("nan")), max_size=60))
def test_a_tone_never_changes_twice_within_the_dwell(strays: list[float]) -> None:
    rules = ToneRules(on=5.0, close=12.0, margin=1.0, dwell_s=0.35)
    state, changed = ToneState(), -10
    for i, stray in enumerate(strays):
        after = change_tone(state, stray, step_s=0.1, rules=rules)
        if after.tone != state.tone:
            assert i - changed >= 4
            changed = i
        state = after


def test_samples_count_at_least_two() -> None:
    traces = Traces(np.zeros(0), {}, 2.0, 30.0, np.ones(1))
    assert traces.samples(0.001) == 2
    assert traces.samples(1.0) == 30
