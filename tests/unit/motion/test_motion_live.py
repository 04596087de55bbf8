"""The live picture: its lag is the one stated, and a trembling shape does not change the tone."""

import numpy as np
import pytest

from chordline.core.geometry.angles import Floats
from chordline.core.motion.live import (
    LiveFilter,
    ToneRules,
    ToneState,
    change_tone,
    follow,
    start_live,
)

FILTER = LiveFilter(lag_s=0.2, forget_s=0.5)
RULES = ToneRules(on=5.0, close=12.0, margin=1.5, dwell_s=0.3)


def run(seen: Floats, step_s: float) -> Floats:
    state = start_live(())
    out = []
    for one in seen:
        state = follow(state, np.asarray(one), step_s=step_s, filt=FILTER)
        out.append(state.value)
    return np.array(out)


@pytest.mark.parametrize("rate_hz", [15.0, 30.0, 120.0])
def test_a_steady_movement_is_shown_late_by_the_lag_less_about_half_a_frame(
    rate_hz: float,
) -> None:
    t = np.arange(0.0, 4.0, 1.0 / rate_hz)
    late = (10.0 * t - run(10.0 * t, 1.0 / rate_hz))[-1] / 10.0
    assert late == pytest.approx(0.2 - 0.5 / rate_hz, abs=0.15 / rate_hz)


def test_a_jump_is_followed_without_overshoot() -> None:
    out = run(np.concatenate([[0.0], np.ones(120)]), 1.0 / 30.0)
    assert (np.diff(out) >= 0.0).all()
    assert out.max() <= 1.0
    assert out[-1] == pytest.approx(1.0, abs=1e-6)


def test_white_noise_is_calmed_as_told() -> None:
    noise = np.random.default_rng(1).normal(0.0, 1.0, 12_000)
    out = run(noise, 1.0 / 120.0)
    assert out[500:].std() == pytest.approx(FILTER.noise_gain(1.0 / 120.0), rel=0.08)


def test_what_is_not_seen_stands_still_and_is_forgotten() -> None:
    out = run(np.array([1.0] * 5 + [np.nan] * 10 + [3.0]), 0.1)
    assert out[5:10] == pytest.approx(1.0)
    assert np.isnan(out[10:15]).all()
    assert out[15] == 3.0


def test_each_landmark_is_followed_for_itself() -> None:
    state = start_live((2,))
    state = follow(state, np.array([1.0, np.nan]), step_s=0.1, filt=FILTER)
    assert state.value[0] == 1.0
    assert np.isnan(state.value[1])


def tones(strays: list[float], step_s: float = 0.1) -> list[str]:
    state = ToneState()
    out = []
    for stray in strays:
        state = change_tone(state, stray, step_s=step_s, rules=RULES)
        out.append(state.tone)
    return out


def test_a_tone_comes_after_the_dwell_and_goes_beyond_the_margin() -> None:
    assert tones([2.0] * 5) == ["unknown", "unknown", "on", "on", "on"]
    assert tones([2.0] * 5 + [6.4] * 10)[-1] == "on"
    assert tones([2.0] * 5 + [6.6] * 10)[-1] == "close"
    assert tones([2.0] * 5 + [20.0] * 10)[-1] == "off"
    assert tones([20.0] * 5 + [11.0] * 10)[-1] == "off"
    assert tones([20.0] * 5 + [10.0] * 10)[-1] == "close"
    assert tones([20.0] * 5 + [10.0] * 5 + [4.0] * 5)[-1] == "close"
    assert tones([20.0] * 5 + [10.0] * 5 + [3.0] * 5)[-1] == "on"


def test_a_shape_that_trembles_about_a_limit_keeps_its_tone() -> None:
    trembling = [2.0] * 5 + [4.0, 6.0] * 20
    assert set(tones(trembling)[4:]) == {"on"}
    spikes = [2.0] * 5 + [20.0, 2.0] * 20
    assert set(tones(spikes)[4:]) == {"on"}


def test_who_is_not_seen_has_no_tone() -> None:
    assert tones([2.0] * 5 + [np.nan] * 5)[-1] == "unknown"


def test_rules_that_leave_no_room_are_refused() -> None:
    with pytest.raises(ValueError, match="lag"):
        LiveFilter(lag_s=0.0, forget_s=1.0)
    with pytest.raises(ValueError, match="margin"):
        ToneRules(on=5.0, close=7.0, margin=1.5, dwell_s=0.2)
    with pytest.raises(ValueError, match="forwards"):
        follow(start_live(()), np.asarray(1.0), step_s=0.0, filt=FILTER)
