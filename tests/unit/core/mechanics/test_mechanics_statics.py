"""A measured handstand: balance, moments, shares of the bow."""

import numpy as np
import pytest

from chordline.core.geometry.angles import Floats
from chordline.core.geometry.propagation import gaussian_points
from chordline.core.mechanics.chain import leans_of
from chordline.core.mechanics.parts import INDEX, POINTS
from chordline.core.mechanics.statics import (
    StanceReading,
    locate_balance,
    read_handstand,
    stand_posture,
)
from posed_handstands import SEGMENTS, STATURE_M, body, chain_points

BODY = body()


def posed(arm_deg: float, *openings_deg: float) -> Floats:
    """Points of one handstand, all marked, (10, 2) [m]."""
    arm, openings = np.deg2rad([arm_deg]), np.deg2rad([openings_deg])
    chain = BODY.chain(np.zeros(1))
    return chain_points(chain, BODY.lengths, leans_of(arm, openings))[0]


def read(points_m: Floats, sd_m: float = 0.005, facing: int = 1) -> StanceReading:
    sds = np.where(np.isnan(points_m[:, 0]), np.nan, sd_m)
    return read_handstand(
        SEGMENTS.all_parts(),
        points_m,
        sds,
        facing=facing,
        otherwise=BODY.lengths,
        trunk_fraction=SEGMENTS.trunk_fraction,
        heel_m=0.0,
        stature_m=STATURE_M,
    )


def test_straight_above_the_wrist_she_stands_at_the_heel_of_the_hand() -> None:
    reading = read(posed(0.0, 0.0, 0.0, 0.0))
    # The hands themselves lie towards the fingers.
    assert 0.0 < reading.balance_pct.value < 2.0
    assert all(abs(one.value) < 1e-9 for one in reading.moments.values())


def test_a_lean_towards_the_fingers_is_towards_her_back() -> None:
    assert read(posed(-2.0, 0.0, 0.0, 0.0)).balance_pct.value > 20.0  # overbalance
    assert read(posed(2.0, 0.0, 0.0, 0.0)).balance_pct.value < 0.0  # underbalance


def test_pressing_the_fingers_is_a_closing_moment_of_the_wrist() -> None:
    assert read(posed(-2.0, 0.0, 0.0, 0.0)).moments["wrist"].value < 0.0


def test_piked_legs_in_front_ask_the_hip_to_open() -> None:
    reading = read(posed(-8.0, 0.0, 0.0, -30.0))
    assert reading.moments["hip"].value > 0.0
    # Bent knees would let the shanks fall to the back: gravity in front stretches the knee.
    assert reading.moments["knee"].value < 0.0


def test_closed_shoulders_carry_the_largest_moment() -> None:
    reading = read(posed(-10.0, -40.0, 30.0, 0.0))
    assert reading.largest_moment == "shoulder"
    assert reading.moments["shoulder"].value > 0.0


def test_the_joint_that_bends_has_the_bow() -> None:
    shares = read(posed(-5.0, -20.0, 0.0, 0.0)).bow_shares
    assert shares["shoulder"].value == pytest.approx(1.0, abs=1e-6)
    both = read(posed(-5.0, -20.0, 0.0, -8.0)).bow_shares
    assert both["shoulder"].value > both["hip"].value > 0.0


def test_an_arch_takes_away_from_the_bow_of_closed_shoulders() -> None:
    shares = read(posed(-5.0, -20.0, 6.0, 0.0)).bow_shares
    assert shares["shoulder"].value > 1.0
    assert shares["trunk"].value < 0.0


def test_what_is_not_marked_is_where_a_straight_link_has_it() -> None:
    points = posed(-3.0, -10.0, 0.0, 5.0)
    bare = points.copy()
    bare[[INDEX[name] for name in ("toe", "trunk", "ear", "elbow", "hand")]] = np.nan
    whole, filled = read(points), read(bare)
    assert filled.balance_pct.value == pytest.approx(whole.balance_pct.value, abs=1e-6)
    assert filled.moments["shoulder"].value == pytest.approx(whole.moments["shoulder"].value)


def test_the_error_of_marks_is_that_of_many_markings() -> None:
    points = posed(-4.0, -15.0, 10.0, 3.0)
    sd_m = 0.006
    reading = read(points, sd_m)
    marked = points + sd_m * gaussian_points(2 * len(POINTS)).reshape(-1, len(POINTS), 2)
    posture = stand_posture(
        marked,
        facing=1,
        otherwise=BODY.lengths,
        trunk_fraction=SEGMENTS.trunk_fraction,
        heel_m=0.0,
    )
    by_table = np.stack([locate_balance(parts, posture) for parts in SEGMENTS.all_parts()])
    assert reading.balance_pct.sd == pytest.approx(by_table.mean(axis=0).std(), rel=0.05)


def test_the_choice_of_table_is_an_error_of_its_own() -> None:
    bent = read(posed(-10.0, -40.0, 30.0, 0.0), sd_m=1e-9)
    assert bent.balance_pct.sd < 1e-3
    assert bent.balance_pct.table_sd > 0.5
    assert bent.balance_pct.as_estimate().sd == pytest.approx(bent.balance_pct.table_sd, rel=1e-3)


def test_the_other_side_near_reads_the_same() -> None:
    points = posed(-4.0, -15.0, 10.0, 3.0)
    left, right = read(points), read(points * np.array([-1.0, 1.0]), facing=-1)
    assert right.balance_pct.value == pytest.approx(left.balance_pct.value)
    assert right.bow_shares["hip"].value == pytest.approx(left.bow_shares["hip"].value)


def test_a_missing_joint_is_named() -> None:
    points = posed(0.0, 0.0, 0.0, 0.0)
    points[INDEX["hip"]] = np.nan
    with pytest.raises(ValueError, match="not marked: hip"):
        read(points)


def test_a_hand_marked_in_front_of_the_wrist_says_nothing_of_balance() -> None:
    points = posed(0.0, 0.0, 0.0, 0.0)
    points[INDEX["hand"], 0] = 0.05
    assert np.isnan(read(points).balance_pct.value)
