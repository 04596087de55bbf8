"""The attainable line and the forecast: what comes out without a rule that says so."""

from dataclasses import replace

import numpy as np
import pytest

from chordline.core.mechanics.attainable import AttainableLine
from chordline.core.mechanics.chain import Support, build_chain
from chordline.core.mechanics.forecast import Forecast, ask_what_if, forecast_line
from chordline.core.mechanics.lengths import lengths_of_stature
from chordline.core.mechanics.limits import Limits
from posed_handstands import (
    GOAL,
    SEGMENTS,
    STANCE,
    STATURE_M,
    STEPS,
    TABLES,
    body,
    limits_deg,
    solve,
)


def line_of(**known: float) -> AttainableLine:
    return solve(limits_deg(**known))


def forecast(limits: Limits) -> Forecast:
    return forecast_line(body(), limits, STANCE, STEPS, GOAL)


def mixed(count: int) -> Limits:
    rng = np.random.default_rng(8)
    return limits_deg(
        shoulder_opening=rng.normal(-15.0, 8.0, count), hip_opening=rng.normal(-4.0, 6.0, count)
    )


@pytest.mark.parametrize("table", TABLES)
def test_who_has_all_ranges_stands_straight_and_nothing_stops_her(table: str) -> None:
    line = solve(limits_deg(), body(table))
    assert abs(line.bow_max_pct[0]) < 0.05
    assert abs(np.rad2deg(line.lean_rad[0])) < 1.0
    assert line.stops == ((),)
    assert line.first_stop == (None,)


@pytest.mark.parametrize("table", TABLES)
@pytest.mark.parametrize("closed", [8.0, 15.0, 25.0, 40.0])
def test_closed_shoulders_arch_the_lower_back(table: str, closed: float) -> None:
    line = solve(limits_deg(shoulder_opening=-closed), body(table))
    shoulder, trunk, _ = np.rad2deg(line.openings[0])
    assert shoulder == pytest.approx(-closed, abs=1e-3)
    assert trunk > 0.5 * closed
    assert np.rad2deg(line.leans[0, 0]) < 0.0  # and the arms lean over the fingers
    assert line.first_stop == ("shoulder",)


def test_closed_shoulders_without_an_arch_lean_over_the_fingers_and_bow_more() -> None:
    arched, stiff = (
        line_of(shoulder_opening=-30.0),
        line_of(shoulder_opening=-30.0, trunk_arching=3.0),
    )
    assert stiff.bow_rms_pct[0] > 2.5 * arched.bow_rms_pct[0]
    assert stiff.leans[0, 0] < arched.leans[0, 0]
    assert "trunk arching" in stiff.stops[0]


def test_balance_alone_forces_an_arch_where_the_arms_must_stay_upright() -> None:
    """Not the wish for a small bow: no posture without an arch keeps her on her hands."""
    upright = {"shoulder_opening": -25.0, "wrist_extension": 5.0, "hip_opening": 0.0}
    assert not line_of(**upright, trunk_arching=10.0).possible[0]
    assert line_of(**upright, trunk_arching=40.0).possible[0]


def test_a_stiff_closed_body_stands_at_the_last_place_over_the_knuckles() -> None:
    line = line_of(
        shoulder_opening=-35.0, trunk_arching=3.0, wrist_extension=30.0, wrist_moment=1.0
    )
    assert line.balance_pct[0] == pytest.approx(100.0 - STANCE.margin_pct, abs=1e-3)


def test_short_hip_flexors_stop_her_at_the_hip() -> None:
    line = line_of(hip_opening=-15.0)
    assert line.first_stop == ("hip",)
    assert np.rad2deg(line.openings[0, 1]) > 0.0  # the back makes up for it


def test_a_back_that_cannot_get_out_of_its_arch_is_named() -> None:
    assert line_of(trunk_rounding=-12.0).first_stop == ("trunk rounding",)


def test_a_weak_shoulder_is_named_by_its_moment() -> None:
    weak = line_of(shoulder_opening=-35.0, shoulder_moment=0.02)
    assert "moment at the shoulder" in weak.stops[0]
    assert abs(weak.moments[0, 1]) == pytest.approx(0.02, abs=1e-5)
    assert weak.cost_pct[0] > line_of(shoulder_opening=-35.0).cost_pct[0]


def test_who_cannot_stand_is_told_so_and_not_mended() -> None:
    line = line_of(shoulder_opening=-85.0, wrist_extension=0.0)
    assert not line.possible[0]
    assert line.stops[0][0] in ("wrist", "shoulder", "trunk arching")
    assert np.isfinite(line.points_m).all()


def test_points_are_drawn_in_metres_or_in_percent_of_the_chord() -> None:
    line = line_of(shoulder_opening=-20.0)
    chord = np.linalg.norm(line.points_m[0, 5])
    assert line.points_pct[0] == pytest.approx(100.0 * line.points_m[0] / chord)
    assert line.points_m[0, 0].tolist() == [0.0, 0.0]
    assert np.linalg.norm(line.points_pct[0, 5]) == pytest.approx(100.0)


def test_a_push_lengthens_the_arms() -> None:
    low, tall = line_of(push_m=0.0), line_of(push_m=0.03)
    assert tall.points_m[0, 1, 1] - low.points_m[0, 1, 1] == pytest.approx(0.03, abs=1e-4)


@pytest.mark.parametrize(
    ("known", "sentence"),
    [
        ({"shoulder_opening": -90.0}, "shoulder"),
        ({"trunk_arching": 5.0, "trunk_rounding": -5.0}, "trunk"),
        ({"hip_opening": float("nan")}, "not a number"),
        ({"hip_moment": 0.0}, "positive"),
    ],
)
def test_impossible_limits_are_refused(known: dict[str, float], sentence: str) -> None:
    with pytest.raises(ValueError, match=sentence):
        line_of(**known)


def test_a_chain_without_a_length_is_refused() -> None:
    lengths = lengths_of_stature(SEGMENTS.link_fractions(), np.asarray(STATURE_M))
    broken = replace(lengths, thigh=np.asarray(np.nan))
    support = Support(np.asarray(0.0), np.asarray(-0.06))
    with pytest.raises(ValueError, match="length"):
        build_chain(SEGMENTS.parts(TABLES[0]), broken, support, stature_m=STATURE_M)
    with pytest.raises(ValueError, match="heel"):
        build_chain(
            SEGMENTS.parts(TABLES[0]),
            lengths,
            Support(np.asarray(-0.06), np.asarray(0.0)),
            stature_m=STATURE_M,
        )


def test_a_forecast_says_how_likely_she_arrives_and_what_stops_her() -> None:
    told = forecast(mixed(200))
    assert 0.0 < told.p_arrived < 1.0
    assert told.p_arrived <= min(told.p_upright, told.p_straight) <= told.p_possible
    assert next(iter(told.stopped_by)) == "shoulder"
    assert sum(told.stopped_by.values()) == pytest.approx(1.0)
    assert told.bow_max_pct.value > 0.0
    assert told.points_pct.shape == (7, 2)
    assert told.openings_rad["trunk"].value > 0.0


def test_the_shoulder_pays_most_where_the_shoulder_stops_her() -> None:
    told = forecast(limits_deg(shoulder_opening=np.array([-18.0, -20.0, -22.0])))
    ranges = {name: one.value for name, one in told.payoffs.items() if name.endswith("_rad")}
    assert max(ranges, key=lambda name: ranges[name]) == "shoulder_opening_rad"
    # A degree of shoulder is worth about 0.08 % of the chord, in a body of these lengths.
    assert np.deg2rad(ranges["shoulder_opening_rad"]) == pytest.approx(0.08, abs=0.02)


def test_what_if_is_a_forecast_of_its_own() -> None:
    limits = mixed(100)
    told = forecast(limits)
    gain = np.deg2rad(8.0)
    asked = ask_what_if(
        body(), told, STANCE, STEPS, GOAL, gains={"shoulder_opening_rad": float(gain)}
    )
    anew = forecast(replace(limits, shoulder_opening_rad=limits.shoulder_opening_rad + gain))
    assert asked.p_arrived_gain == pytest.approx(anew.p_arrived - told.p_arrived)
    assert asked.straightened_pct.value == pytest.approx(
        told.bow_rms_pct.value - anew.bow_rms_pct.value, abs=1e-4
    )
    assert asked.straightened_pct.value > 0.0


def test_a_forecast_repeats_to_the_last_digit() -> None:
    assert (forecast(mixed(50)).line.leans == forecast(mixed(50)).line.leans).all()


def test_limits_far_outside_of_any_child_are_answered_too() -> None:
    rng = np.random.default_rng(5)
    count = 400
    moments = {
        f"{joint}_moment": 10.0 ** rng.uniform(-4.0, 0.0, count)
        for joint in ("wrist", "shoulder", "trunk", "hip", "knee")
    }
    line = solve(
        limits_deg(
            shoulder_opening=rng.uniform(-85.0, 40.0, count),
            hip_opening=rng.uniform(-80.0, 40.0, count),
            trunk_rounding=rng.uniform(-30.0, 60.0, count),
            trunk_arching=rng.uniform(31.0, 80.0, count),
            wrist_extension=rng.uniform(-40.0, 80.0, count),
            **moments,
        )
    )
    assert 0.05 < line.possible.mean() < 0.5
    assert line.solved.converged[line.possible].all()
    assert np.isfinite(line.bow_rms_slope).all()
    assert np.isfinite(line.points_m).all()
