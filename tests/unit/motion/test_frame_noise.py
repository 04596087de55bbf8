import numpy as np
import pytest

from chordline.core.motion.frame_noise import average_turns, estimate_frame_noise

T = np.arange(300) / 30.0


def scattered(sd_px: float, seed: int = 1) -> np.ndarray:
    return np.random.default_rng(seed).normal(0.0, sd_px, (len(T), 2, 2))


@pytest.mark.parametrize("stride", [1, 2])
def test_white_scatter_is_told_as_it_is(stride: int) -> None:
    sd = estimate_frame_noise(T, scattered(3.0), window_s=2.0, stride=stride)
    assert float(np.sqrt((sd**2).mean())) == pytest.approx(3.0, rel=0.06)


def test_a_steady_movement_is_no_scatter() -> None:
    moving = np.stack([100.0 * T, -40.0 * T], axis=-1)[:, None]
    sd = estimate_frame_noise(T, moving, window_s=1.0, stride=2)
    assert np.nanmax(sd) < 1e-6


def test_uneven_steps_do_not_change_it() -> None:
    t = np.cumsum(np.random.default_rng(2).choice([1.0, 2.0, 4.0], size=len(T))) / 60.0
    sd = estimate_frame_noise(t, scattered(3.0), window_s=1e9)
    assert float(sd[0, 0]) == pytest.approx(3.0, rel=0.1)


def test_what_parts_two_ways_of_looking_is_no_scatter_with_two_strides() -> None:
    turns = np.where(np.arange(len(T)) % 2, 5.0, -5.0)[:, None, None]
    one = estimate_frame_noise(T, scattered(1.0) + turns, window_s=2.0)
    two = estimate_frame_noise(T, scattered(1.0) + turns, window_s=2.0, stride=2)
    assert float(one.mean()) > 5.0
    assert float(two.mean()) == pytest.approx(1.0, rel=0.06)


def test_scatter_that_grows_is_followed() -> None:
    growing = scattered(1.0) * np.where(T < 5.0, 1.0, 4.0)[:, None, None]
    sd = estimate_frame_noise(T, growing, window_s=1.0)
    assert float(sd[T < 4.0].mean()) == pytest.approx(1.0, rel=0.15)
    assert float(sd[T > 6.0].mean()) == pytest.approx(4.0, rel=0.15)


def test_gaps_are_left_out() -> None:
    gappy = scattered(2.0)
    gappy[100:140] = np.nan
    sd = estimate_frame_noise(T, gappy, window_s=1.0)
    assert np.isfinite(sd).all()
    assert float(sd.mean()) == pytest.approx(2.0, rel=0.1)


def test_too_few_frames_tell_nothing() -> None:
    assert np.isnan(estimate_frame_noise(T[:3], scattered(1.0)[:3], window_s=1.0, stride=2)).all()


def test_averaging_turns_takes_away_what_alternates_to_the_very_ends() -> None:
    turns = np.where(np.arange(len(T)) % 2, 5.0, -5.0)[:, None, None]
    moving = np.broadcast_to(30.0 * T[:, None, None], (len(T), 1, 2))
    averaged = average_turns(moving + turns)
    np.testing.assert_allclose(averaged, moving, atol=0.6)
    np.testing.assert_allclose(averaged[1:-1], moving[1:-1], atol=1e-9)


def test_a_frame_between_two_lost_ones_stays_and_lost_ones_stay_lost() -> None:
    xy = np.full((5, 1, 2), np.nan)
    xy[2] = 7.0
    averaged = average_turns(xy)
    assert float(averaged[2, 0, 0]) == 7.0
    assert np.isnan(averaged[[0, 1, 3, 4]]).all()
