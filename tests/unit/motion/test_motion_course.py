"""From frames to an even, filtered course: rates, gaps, errors."""

import numpy as np
import pytest

from chordline.core.body.measures import compute_measures
from chordline.core.body.points import BodyPoints
from chordline.core.motion.course import Course, Footage, smooth_footage
from chordline.core.motion.traces import trace_measures
from chordline.core.motion.untold import Untold
from moving_bodies import (
    MEASURES,
    NAMES,
    SD_PX,
    course_of,
    even_times,
    film,
    place_joints,
    ramp,
    still,
    traces_of,
)

HIP = MEASURES[0]


def bend(t: np.ndarray) -> np.ndarray:
    return 20.0 * np.sin(2.0 * np.pi * 0.4 * t)


def test_the_joints_follow_the_courses_they_were_given() -> None:
    t = even_times(2.0)
    xy = place_joints(t, hip=bend, shoulder=still(-7.0), knee=ramp(0.0, 5.0, -10.0))
    read = compute_measures(BodyPoints(NAMES, xy, 1.0), MEASURES)
    assert read[:, 0] == pytest.approx(bend(t), abs=1e-9)
    assert read[:, 1] == pytest.approx(-7.0)
    assert read[:, 2] == pytest.approx(-np.minimum(5.0 * t, 10.0), abs=1e-9)


def test_raw_noise_of_three_and_a_half_degrees_falls_below_one_and_a_half() -> None:
    t = even_times(60.0)
    footage = film(t, place_joints(t, hip=bend), np.random.default_rng(1))
    raw = compute_measures(footage.body, (HIP,))[:, 0] - bend(t)
    trace = traces_of(footage, cutoff_hz=2.0).of[HIP]
    inner = slice(60, -60)
    left = (trace.value - bend(traces_of(footage).t_s))[inner]
    assert 3.0 < raw.std() < 4.0
    assert left.std() < 1.5
    assert trace.random_sd[inner].mean() == pytest.approx(left.std(), rel=0.15)


@pytest.mark.parametrize("rate_hz", [24.0, 60.0, 240.0])
def test_the_error_left_is_told_right_at_every_frame_rate(rate_hz: float) -> None:
    t = even_times(20.0, rate_hz)
    footage = film(t, place_joints(t, hip=bend), np.random.default_rng(2))
    traces = traces_of(footage)
    off = (traces.of[HIP].value - bend(traces.t_s))[20:-20]
    assert traces.rate_hz <= 33.0
    assert off.std() == pytest.approx(traces.of[HIP].random_sd[20:-20].mean(), rel=0.25)


def test_a_variable_frame_rate_keeps_the_moment_and_the_error() -> None:
    rng = np.random.default_rng(3)
    t = np.cumsum(rng.choice([1 / 30, 1 / 24, 1 / 15], 900, p=[0.5, 0.3, 0.2]))
    footage = film(t, place_joints(t, hip=bend), rng)
    traces = traces_of(footage)
    truth, value = bend(traces.t_s), traces.of[HIP].value
    inner = slice(40, -40)
    lags = np.arange(-8, 9)
    alike = [np.corrcoef(truth[inner], np.roll(value, lag)[inner])[0, 1] for lag in lags]
    assert lags[int(np.argmax(alike))] == 0
    off = (value - truth)[inner]
    assert off.std() == pytest.approx(traces.of[HIP].random_sd[inner].mean(), rel=0.2)


@pytest.mark.parametrize("rate_hz", [8.0, 5.0])
def test_too_few_frames_a_second_are_refused_with_what_it_takes(rate_hz: float) -> None:
    t = even_times(10.0, rate_hz)
    footage = film(t, place_joints(t))
    told = smooth_footage(footage, cutoff_hz=4.0, bridge_s=0.3)
    assert told == Untold("frame-rate-too-low", pytest.approx(rate_hz), 8.0)


def test_eight_frames_a_second_carry_a_lower_cutoff() -> None:
    t = even_times(10.0, 8.0)
    assert isinstance(smooth_footage(film(t, place_joints(t)), cutoff_hz=2.0, bridge_s=0.3), Course)


def test_a_handful_of_frames_is_refused() -> None:
    t = even_times(0.2)
    told = smooth_footage(film(t, place_joints(t)), cutoff_hz=2.0, bridge_s=0.2)
    assert told == Untold("too-few-frames", 6.0, 8.0)


def lose(footage: Footage, first: int, last: int, names: tuple[str, ...] = NAMES) -> Footage:
    xy = footage.body.xy_px.copy()
    for name in names:
        xy[first:last, NAMES.index(name)] = np.nan
    return Footage(footage.body.with_xy(xy), footage.t_s, footage.sd_px)


def test_a_short_gap_is_bridged_and_costs_certainty() -> None:
    t = even_times(6.0)
    whole = film(t, place_joints(t, hip=bend))
    traces = traces_of(lose(whole, 90, 94))
    assert np.isfinite(traces.of[HIP].value).all()
    assert traces.of[HIP].random_sd[92] > 1.2 * traces.of[HIP].random_sd[60]


def test_a_long_gap_splits_the_course() -> None:
    t = even_times(6.0)
    course = course_of(lose(film(t, place_joints(t, hip=bend)), 80, 100))
    lost = np.isnan(course.body.get("hip")).any(axis=1)
    assert lost.sum() == 20
    assert np.isnan(course.random_sd_px[:, NAMES.index("hip")]).sum() == 20


def test_what_stands_after_a_gap_does_not_reach_before_it() -> None:
    t = even_times(6.0)
    jump = np.where(t > 3.0, 40.0, 0.0)
    course = course_of(lose(film(t, place_joints(t, hip=lambda _: jump)), 80, 100))
    before = compute_measures(course.body, (HIP,))[:80, 0]
    assert np.abs(before).max() < 1e-6


def test_only_the_measures_of_a_lost_landmark_are_lost() -> None:
    t = even_times(6.0)
    footage = lose(film(t, place_joints(t)), 60, 120, ("wrist",))
    traces = traces_of(footage)
    assert np.isnan(traces.of["shoulder_opening_deg"].value).sum() == 60
    assert np.isfinite(traces.of[HIP].value).all()


def test_where_landmarks_stand_for_joints_is_not_averaged_out() -> None:
    t = even_times(6.0)
    trace = traces_of(film(t, place_joints(t)), definition_px=4.0).of[HIP]
    # Straight: σ √(1/a² + 1/b² + (1/a + 1/b)²), a and b in px.
    a, b = 37 * 6.0, 43 * 6.0
    one_px = np.rad2deg(np.sqrt(1 / a**2 + 1 / b**2 + (1 / a + 1 / b) ** 2))
    assert trace.common_sd[90] == pytest.approx(4.0 * one_px, rel=0.01)
    assert trace.random_sd[90] == pytest.approx(SD_PX * one_px * 0.3707, rel=0.01)
    assert trace.sd[90] == pytest.approx(np.hypot(trace.common_sd[90], trace.random_sd[90]))


def test_further_common_errors_are_added() -> None:
    t = even_times(3.0)
    course = course_of(film(t, place_joints(t)))
    more = trace_measures(
        course, (HIP,), definition_sd_px=np.zeros(len(NAMES)), other_common_sd={HIP: 2.5}
    )
    assert more.of[HIP].common_sd[40] == pytest.approx(2.5)


def test_errors_told_too_small_show_in_what_the_filter_removes() -> None:
    t = even_times(60.0)
    filmed = film(t, place_joints(t), np.random.default_rng(5))
    believed = Footage(filmed.body, t, filmed.sd_px / 3.0)
    assert course_of(believed).seen_sd_px == pytest.approx(SD_PX, rel=0.05)


def test_errors_that_remember_themselves_are_filtered_less() -> None:
    t = even_times(20.0)
    rng = np.random.default_rng(6)
    kept = np.exp(-(1 / 30) / 0.05)
    noise = rng.normal(0.0, SD_PX, (600, len(NAMES), 2))
    for i in range(1, 600):
        noise[i] = kept * noise[i - 1] + np.sqrt(1.0 - kept**2) * noise[i]
    footage = film(t, place_joints(t) + noise)
    course = smooth_footage(footage, cutoff_hz=1.0, bridge_s=0.2, memory_s=0.05)
    assert isinstance(course, Course)
    off = (course.body.xy_px - place_joints(course.t_s))[10:-10]
    assert off.std() == pytest.approx(course.random_sd_px[10:-10].mean(), rel=0.12)


def test_times_that_do_not_rise_and_errors_that_are_missing_are_refused() -> None:
    t = even_times(2.0)
    footage = film(t, place_joints(t))
    with pytest.raises(ValueError, match="must rise"):
        Footage(footage.body, t[::-1], footage.sd_px)
    with pytest.raises(ValueError, match="needs an error"):
        Footage(footage.body, t, np.full_like(footage.sd_px, np.nan))
    with pytest.raises(ValueError, match="must fit"):
        Footage(footage.body, t[:-1], footage.sd_px)


def test_an_angle_that_turns_over_at_half_a_turn_is_as_sure_as_any_other() -> None:
    """Head up, the line from the feet is 180° off the handstand's vertical: −179° is 181°."""
    t = even_times(3.0)
    line = "line_from_vertical_deg"
    up = traces_of(film(t, place_joints(t, heading_deg=90.0)), definition_px=2.0, names=(line,))
    down = traces_of(film(t, place_joints(t, heading_deg=-90.0)), definition_px=2.0, names=(line,))
    assert abs(up.of[line].value[40]) == pytest.approx(180.0)
    assert up.of[line].random_sd[40] == pytest.approx(down.of[line].random_sd[40], rel=0.01)
    assert up.of[line].common_sd[40] == pytest.approx(down.of[line].common_sd[40], rel=0.01)
