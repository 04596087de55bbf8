"""Back roll to handstand: when the line arrives, and how it is then."""

import numpy as np
import pytest

from chordline.core.motion.arrival import LINE, Arrival, ArrivalRules, find_arrival
from chordline.core.motion.untold import Untold
from moving_bodies import Angle, even_times, film, place_joints, ramp, still, traces_of

RULES = ArrivalRules(within_deg=10.0, still_deg_per_s=15.0, settle_s=0.4, certainty=0.6)
WANTED = ("hip_opening_deg", "shoulder_opening_deg")


def arrive(
    turn: Angle, seconds: float = 6.0, lose_all: bool = False, **angles: Angle
) -> Arrival | Untold:
    t = even_times(seconds)
    xy = place_joints(t, heading_deg=-90.0, turn=turn, **angles)
    if lose_all:
        xy[:] = np.nan
    footage = film(t, xy, np.random.default_rng(1), sd_px=3.0)
    traces = traces_of(footage, cutoff_hz=4.0, definition_px=2.0, names=(LINE, *WANTED))
    return find_arrival(traces, WANTED, RULES)


def test_the_line_is_read_where_it_arrives() -> None:
    # From 120° off to upright in 2 s; the hips open from −60° on the way.
    result = arrive(ramp(1.0, 60.0, 0.0, begin=-120.0), hip=ramp(1.0, 25.0, -10.0, begin=-60.0))
    assert isinstance(result, Arrival)
    assert result.at_s == pytest.approx(3.0, abs=0.25)
    assert result.p_arrived >= RULES.certainty
    hip = result.measures["hip_opening_deg"]
    assert hip.value == pytest.approx(-10.0, abs=3.0 * hip.sd)
    assert 0.0 < result.random_sd["hip_opening_deg"] < hip.sd


def test_passing_the_vertical_is_no_arrival() -> None:
    result = arrive(ramp(1.0, 60.0, 120.0, begin=-120.0))
    assert isinstance(result, Untold)
    assert result.reason == "never-still"
    assert result.have == pytest.approx(60.0, abs=8.0)


def test_a_line_that_stops_short_never_arrives() -> None:
    result = arrive(ramp(1.0, 60.0, -25.0, begin=-120.0))
    assert isinstance(result, Untold)
    assert (result.reason, result.need) == ("never-upright", 10.0)
    assert result.have == pytest.approx(25.0, abs=2.0)


def test_a_video_that_is_too_short_and_a_body_that_is_never_seen_are_told_apart() -> None:
    short = arrive(still(), seconds=0.3)
    assert isinstance(short, Untold)
    assert short.reason == "too-short"
    unseen = arrive(still(), lose_all=True)
    assert isinstance(unseen, Untold)
    assert unseen.reason == "body-lost"
