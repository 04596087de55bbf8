"""Holds of bodies whose joints follow known courses: when they begin, break, and where."""

from dataclasses import replace

import numpy as np
import pytest

from chordline.core.motion.breaking import Break, find_break
from chordline.core.motion.course import Footage
from chordline.core.motion.crossing import locate_crossing
from chordline.core.motion.hold import Hold, Where
from chordline.core.motion.holds import find_hold, find_holds
from chordline.core.motion.onset import stray_from
from chordline.core.motion.shape import HoldRules, ShapeLimit, Stray
from chordline.core.motion.traces import Traces
from chordline.core.motion.untold import Untold
from moving_bodies import (
    LIMITS,
    OWN_LIMITS,
    RULES,
    Angle,
    even_times,
    film,
    place_joints,
    ramp,
    still,
    traces_of,
)

HIP, SHOULDER, KNEE = (one.measure for one in LIMITS)


def hold_of(
    seconds: float,
    *,
    seed: int | None = 1,
    limits: tuple[ShapeLimit, ...] = LIMITS,
    rate_hz: float = 30.0,
    definition_px: float = 0.0,
    lost: tuple[float, float] | None = None,
    **angles: Angle,
) -> Hold | Untold:
    t = even_times(seconds, rate_hz)
    rng = None if seed is None else np.random.default_rng(seed)
    footage = film(t, place_joints(t, **angles), rng, definition_px=definition_px)
    if lost:
        xy = footage.body.xy_px.copy()
        xy[(t > lost[0]) & (t < lost[1])] = np.nan
        footage = Footage(footage.body.with_xy(xy), t, footage.sd_px)
    return find_hold(traces_of(footage, definition_px=definition_px), limits, RULES)


def told(result: Hold | Untold) -> Hold:
    assert isinstance(result, Hold), result
    return result


@pytest.mark.parametrize("seed", [1, 2, 3])
@pytest.mark.parametrize(
    ("joint", "to", "where"),
    [
        ("hip", 40.0, Where(HIP, 1)),
        ("hip", -40.0, Where(HIP, -1)),
        ("shoulder", -40.0, Where(SHOULDER, -1)),
        ("knee", -40.0, Where(KNEE, -1)),
    ],
)
def test_the_joint_that_gives_way_is_named_with_its_moment(
    joint: str, to: float, where: Where, seed: int
) -> None:
    # 12 ° at 12 °/s: outside from 9 s on.
    hold = told(hold_of(14.0, seed=seed, **{joint: ramp(8.0, 12.0, to)}))
    assert hold.where == where
    assert hold.broke_at_s == pytest.approx(9.0, abs=0.2)
    assert hold.seconds == pytest.approx(9.0, abs=0.25)
    assert hold.low_s < hold.seconds < (hold.high_s or 0.0)
    assert not hold.reached_cap


@pytest.mark.parametrize("rate_hz", [24.0, 60.0, 240.0])
def test_the_moment_does_not_hang_on_the_frame_rate(rate_hz: float) -> None:
    hold = told(hold_of(12.0, rate_hz=rate_hz, hip=ramp(7.0, 20.0, 40.0)))
    assert hold.broke_at_s == pytest.approx(7.6, abs=0.15)


def test_the_first_of_two_breaks_is_the_likelier_place() -> None:
    clear = told(hold_of(14.0, hip=ramp(6.0, 12.0, 40.0), shoulder=ramp(8.0, 12.0, -40.0)))
    assert clear.where == Where(HIP, 1)
    assert clear.where_p[Where(HIP, 1)] > 0.99
    alike = told(hold_of(14.0, hip=ramp(6.0, 12.0, 40.0), shoulder=ramp(6.0, 12.0, -40.0)))
    assert 0.01 < alike.where_p[Where(HIP, 1)] < 0.99
    assert sum(alike.where_p.values()) == pytest.approx(1.0)


def test_a_flicker_does_not_break_the_shape_and_a_longer_stray_does() -> None:
    def stray(seconds: float) -> Angle:
        return lambda t: np.where((t > 5.0) & (t < 5.0 + seconds), 20.0, 0.0)

    assert told(hold_of(10.0, hip=stray(0.25))).reached_cap
    assert told(hold_of(10.0, hip=stray(1.0))).broke_at_s == pytest.approx(5.0, abs=0.2)


def test_a_video_that_ends_in_shape_tells_at_least() -> None:
    hold = told(hold_of(10.0))
    assert hold.reached_cap
    assert hold.broke_at_s is None
    assert hold.where is None
    assert hold.high_s is None
    assert hold.seconds == pytest.approx(10.0, abs=0.1)
    assert hold.p_broken_at_end < 0.05
    assert hold.doubts == ("begun-before-the-video",)


def test_the_clock_starts_when_she_is_in_shape_and_still() -> None:
    # Hips from 60° closed to straight in 2 s, held from 3 s to 9 s.
    def course(t: np.ndarray) -> np.ndarray:
        return -60.0 + ramp(1.0, 30.0, 60.0)(t) + ramp(9.0, 30.0, 50.0)(t)

    hold = told(hold_of(12.0, hip=course))
    assert hold.began_at_s == pytest.approx(3.0, abs=0.4)
    assert "begun-before-the-video" not in hold.doubts
    assert hold.broke_at_s == pytest.approx(9.4, abs=0.15)


def test_a_short_try_before_the_hold_is_another_hold() -> None:
    def course(t: np.ndarray) -> np.ndarray:
        return np.where((t > 3.0) & (t < 6.0), 40.0, 0.0)

    t = even_times(16.0)
    traces = traces_of(film(t, place_joints(t, hip=course), np.random.default_rng(3)))
    holds = find_holds(traces, LIMITS, RULES)
    assert isinstance(holds, tuple)
    assert [round(one.seconds) for one in holds] == [3, 10]
    assert find_hold(traces, LIMITS, RULES) == holds[1]


def test_her_own_shape_counts_where_the_line_is_out_of_reach() -> None:
    closed = still(-25.0)
    assert hold_of(8.0, shoulder=closed) == Untold("never-in-shape")
    own = told(hold_of(8.0, limits=OWN_LIMITS, shoulder=closed))
    assert own.reached_cap
    lower = ramp(4.0, 15.0, -60.0, begin=-25.0)
    sinking = told(hold_of(8.0, limits=OWN_LIMITS, shoulder=lower))
    assert sinking.broke_at_s == pytest.approx(4.8, abs=0.2)
    assert sinking.where == Where(SHOULDER, -1)


def test_an_offset_of_the_landmarks_widens_the_line_and_not_her_own_shape() -> None:
    course = {"hip": ramp(6.0, 4.0, 60.0)}
    line = told(hold_of(14.0, definition_px=3.0, **course))
    own = told(hold_of(14.0, definition_px=3.0, limits=OWN_LIMITS, **course))
    assert line.sd > 1.5 * own.sd


def test_a_body_that_snaps_into_shape_is_timed_from_there() -> None:
    """The filter smears a snap: its first moments cannot be told, the hold after them can."""
    snap = ramp(3.0, 10_000.0, 0.0, begin=-80.0)
    hold = told(hold_of(13.0, hip=snap))
    assert hold.began_at_s == pytest.approx(3.3, abs=0.4)
    assert hold.seconds == pytest.approx(9.7, abs=0.5)
    assert hold.reached_cap


def test_what_only_passes_through_the_shape_is_no_hold() -> None:
    result = hold_of(8.0, hip=ramp(0.0, 15.0, 60.0, begin=-60.0))
    assert result == Untold("never-still")


def test_a_shape_that_the_errors_hide_is_not_told() -> None:
    result = hold_of(8.0, seed=None, definition_px=60.0)
    assert isinstance(result, Untold)
    assert result.reason == "cannot-tell-the-shape"
    assert result.need == RULES.certainty


def test_what_is_lost_in_the_hold_widens_the_interval() -> None:
    course = {"hip": ramp(9.0, 20.0, 40.0)}
    whole = told(hold_of(14.0, **course))
    lost = told(hold_of(14.0, lost=(4.0, 6.0), **course))
    assert lost.seconds == pytest.approx(whole.seconds, abs=0.1)
    assert "lost-in-the-hold" in lost.doubts
    assert lost.low_s == pytest.approx(4.0, abs=0.1)
    assert lost.lost_share == pytest.approx(2.0 / 9.6, abs=0.02)
    assert lost.sd > whole.sd


def test_a_break_while_she_is_lost_lies_somewhere_in_the_gap() -> None:
    hold = told(hold_of(12.0, lost=(6.0, 8.0), hip=ramp(6.5, 40.0, 40.0)))
    assert "broke-while-lost" in hold.doubts
    assert hold.broke_at_s == pytest.approx(7.0, abs=0.1)
    assert hold.low_s == pytest.approx(6.0, abs=0.1)
    assert hold.high_s == pytest.approx(8.0, abs=0.15)


def test_too_much_lost_and_nothing_is_told() -> None:
    result = hold_of(12.0, lost=(2.0, 10.0))
    assert isinstance(result, Untold)
    assert result.reason == "body-lost"
    assert result.have == pytest.approx(8.0 / 12.0, abs=0.02)
    everything = hold_of(12.0, lost=(-1.0, 20.0))
    assert isinstance(everything, Untold)
    assert everything.reason == "body-lost"


def test_a_hold_near_its_limit_says_so() -> None:
    near = (replace(LIMITS[0], enter=11.5),)
    hidden = hold_of(12.0, seed=None, definition_px=4.0, limits=near, hip=still(11.0))
    assert isinstance(hidden, Untold)
    assert hidden.reason == "cannot-tell-the-shape"
    hold = told(hold_of(12.0, seed=None, definition_px=4.0, limits=near, hip=still(9.3)))
    assert hold.reached_cap
    assert hold.p_broken_at_end == pytest.approx(0.17, abs=0.05)
    nearer = told(
        hold_of(
            12.0, seed=None, definition_px=4.0, limits=near, hip=ramp(2.0, 0.2, 11.0, begin=9.0)
        )
    )
    assert "near-the-limit" in nearer.doubts
    assert nearer.sd > 1.0


def test_the_drift_of_each_angle_is_told_with_its_error() -> None:
    hold = told(hold_of(20.0, hip=lambda t: 0.3 * t, shoulder=lambda t: -0.2 * t))
    for name, truth in ((HIP, 0.3), (SHOULDER, -0.2), (KNEE, 0.0)):
        assert hold.drift[name].value == pytest.approx(truth, abs=3.0 * hold.drift[name].sd)
        assert 0.0 < hold.drift[name].sd < 0.1
    assert told(hold_of(1.8)).drift == {}


def test_a_video_shorter_than_settling_is_too_short() -> None:
    result = hold_of(0.8)
    assert isinstance(result, Untold)
    assert result.reason == "too-short"


def test_a_crossing_lies_between_the_samples_that_enclose_it() -> None:
    t = np.arange(11.0)
    crossing = locate_crossing(
        t,
        t - 5.25,
        random_sd=np.full(11, 1e-9),
        common_sd=np.full(11, 1.0),
        correlation=np.ones(1),
        near=6,
    )
    assert crossing.at_s == pytest.approx(5.25)
    assert crossing.low_s == pytest.approx(5.25 - 1.645, abs=1e-3)
    assert crossing.high_s == pytest.approx(5.25 + 1.645, abs=1e-3)
    assert crossing.sd_s == pytest.approx(1.0, abs=1e-6)


def test_rules_and_limits_that_contradict_themselves_are_refused() -> None:
    with pytest.raises(ValueError, match="begin within"):
        ShapeLimit(HIP, enter=10.0, leave=5.0, still_per_s=5.0)
    with pytest.raises(ValueError, match="certainty"):
        HoldRules(settle_s=1.0, shortest_break_s=0.5, certainty=0.3, most_lost_share=0.2)
    with pytest.raises(ValueError, match="take time"):
        HoldRules(settle_s=1.0, shortest_break_s=0.0, certainty=0.6, most_lost_share=0.2)
    t = even_times(4.0)
    with pytest.raises(ValueError, match="in shape means"):
        find_hold(traces_of(film(t, place_joints(t))), (), RULES)


def test_against_her_own_start_only_the_error_of_the_start_is_shared() -> None:
    t = even_times(6.0)
    traces = traces_of(film(t, place_joints(t, hip=still(20.0))), definition_px=8.0)
    line = stray_from(traces, LIMITS[0], RULES, begin=60)
    own = stray_from(traces, OWN_LIMITS[0], RULES, begin=60)
    assert line.off[90] == pytest.approx(20.0)
    assert own.off[90] == pytest.approx(0.0, abs=1e-6)
    assert line.common_sd[90] == traces.of[HIP].common_sd[90]
    # At 2 Hz a second holds about four independent values.
    assert own.common_sd[90] == pytest.approx(own.random_sd[90] * 0.5, rel=0.15)


def break_of(off: np.ndarray, sd: float) -> Break | None:
    """The break of a hip whose strays [deg] are given sample by sample, 30 a second."""
    n = len(off)
    traces = Traces(np.arange(n) / 30.0, {}, 2.0, 30.0, np.ones(1))
    stray = Stray(LIMITS[0], off, np.full(n, sd), np.zeros(n))
    return find_break(traces, stray, RULES, begin=0)


def test_a_stray_that_keeps_coming_back_into_shape_is_no_break() -> None:
    off = np.full(120, 20.0)
    off[:30] = 0.0
    assert break_of(off, 0.5) is not None
    off[::10] = 0.0  # nine of ten samples outside
    assert break_of(off, 0.5) is None


def test_a_stray_that_is_not_surely_beyond_its_limit_is_no_break() -> None:
    off = np.concatenate([np.zeros(30), np.full(90, 12.5)])
    assert break_of(off, 3.0) is None
    assert break_of(off, 0.3) is not None
