"""What holds of every body and every handstand."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from chordline.core.geometry.angles import Floats, joint_opening
from chordline.core.geometry.chord import bow_fraction
from chordline.core.mechanics.chain import SENSES, leans_of, openings_of
from chordline.core.mechanics.forecast import solve_body
from chordline.core.mechanics.line import draw_line, weigh_line
from chordline.core.mechanics.parts import (
    INDEX,
    POINTS,
    compute_inertia,
    locate_mass_centre,
    place_parts,
)
from chordline.core.mechanics.statics import (
    compute_moments,
    locate_balance,
    share_bow,
    stand_posture,
)
from posed_handstands import (
    SEGMENTS,
    STANCE,
    STATURE_M,
    STEPS,
    TABLES,
    body,
    chain_points,
    limits_deg,
    solve,
)

pytestmark = pytest.mark.slow

tables = st.sampled_from(TABLES)
coordinates = st.floats(-1.0, 1.0)
points = st.lists(st.tuples(coordinates, coordinates), min_size=10, max_size=10).map(np.array)
turns = st.floats(-np.pi, np.pi)
leans = st.lists(st.floats(-0.7, 0.7), min_size=4, max_size=4).map(lambda x: np.array([x]))
MASS_KG = np.array(33.0)


def turned(points_m: Floats, angle: float) -> Floats:
    c, s = np.cos(angle), np.sin(angle)
    return points_m @ np.array([[c, s], [-s, c]])


@given(table=tables, at=points, angle=turns, shift=st.tuples(coordinates, coordinates))
def test_turning_and_moving_a_body_moves_its_centre_and_keeps_its_inertia(
    table: str, at: Floats, angle: float, shift: tuple[float, float]
) -> None:
    parts = SEGMENTS.parts(table)
    moved = turned(at, angle) + np.array(shift)
    expected = turned(locate_mass_centre(parts, at), angle) + np.array(shift)
    assert locate_mass_centre(parts, moved) == pytest.approx(expected, abs=1e-12)
    before, after = (compute_inertia(parts, p, MASS_KG) for p in (at, moved))
    assert after == pytest.approx(before, rel=1e-9, abs=1e-12)


@given(table=tables, at=points, factor=st.floats(0.1, 10.0))
def test_scaling_a_body_scales_centre_and_inertia(table: str, at: Floats, factor: float) -> None:
    parts = SEGMENTS.parts(table)
    centre, inertia = locate_mass_centre(parts, at), compute_inertia(parts, at, MASS_KG)
    assert locate_mass_centre(parts, factor * at) == pytest.approx(factor * centre, abs=1e-12)
    scaled = compute_inertia(parts, factor * at, MASS_KG * 2.0)
    assert scaled == pytest.approx(2.0 * factor**2 * inertia, rel=1e-9, abs=1e-12)


@given(table=tables, at=points)
def test_mirroring_mirrors_the_centre_and_keeps_the_inertia(table: str, at: Floats) -> None:
    parts, mirror = SEGMENTS.parts(table), np.array([-1.0, 1.0])
    assert locate_mass_centre(parts, at * mirror) == pytest.approx(
        locate_mass_centre(parts, at) * mirror, abs=1e-12
    )
    assert compute_inertia(parts, at * mirror, MASS_KG) == pytest.approx(
        compute_inertia(parts, at, MASS_KG), rel=1e-12
    )


@given(table=tables, at=points)
def test_the_centre_is_that_of_the_parts_and_the_inertia_not_less_than_their_own(
    table: str, at: Floats
) -> None:
    parts = SEGMENTS.parts(table)
    assert parts.mass.sum() == pytest.approx(1.0, abs=1e-12)
    centres = place_parts(parts, at)
    assert locate_mass_centre(parts, at) == pytest.approx(parts.mass @ centres, abs=1e-12)
    about = ((centres - locate_mass_centre(parts, at)) ** 2).sum(axis=1) @ parts.mass
    assert compute_inertia(parts, at, MASS_KG) >= about * MASS_KG - 1e-12


def test_a_batch_gives_what_one_by_one_gives() -> None:
    rng = np.random.default_rng(3)
    many = rng.uniform(-1.0, 1.0, (4, 5, len(POINTS), 2))
    parts = SEGMENTS.parts(TABLES[0])
    centres, inertia = locate_mass_centre(parts, many), compute_inertia(parts, many, MASS_KG)
    for i in np.ndindex(4, 5):
        assert locate_mass_centre(parts, many[i]) == pytest.approx(centres[i])
        assert compute_inertia(parts, many[i], MASS_KG) == pytest.approx(inertia[i])


@given(table=tables, at=leans)
def test_moments_are_the_virtual_work_of_gravity(table: str, at: Floats) -> None:
    """Opening a joint a little lifts the mass centre: the moment that does it is the slope."""
    one = body(table)
    chain = one.chain(np.zeros(1))
    moments = chain.compute_moments(at)[0]
    step = 1e-5
    for joint in range(4):  # wrist, shoulder, trunk, hip
        heights = []
        for sign in (1.0, -1.0):
            moved = at.copy()
            moved[:, joint:] -= sign * step  # opening a joint leans all above it to the back
            points_m = chain_points(chain, one.lengths, moved)
            heights.append(locate_mass_centre(one.parts, points_m)[0, 1])
        work = (heights[0] - heights[1]) / (2.0 * step) / STATURE_M
        assert moments[joint] == pytest.approx(work, abs=1e-8)


@given(table=tables)
def test_moments_vanish_when_she_is_straight_above_the_wrist(table: str) -> None:
    chain = body(table).chain(np.zeros(1))
    assert chain.compute_moments(np.zeros((1, 4))) == pytest.approx(0.0, abs=1e-15)


@given(table=tables, at=leans, near=st.sampled_from([1, -1]))
def test_a_picture_from_the_other_side_tells_the_same(table: str, at: Floats, near: int) -> None:
    one = body(table)
    chain = one.chain(np.zeros(1))
    points_m = chain_points(chain, one.lengths, at) * np.array([float(near), 1.0])
    posture = stand_posture(
        points_m + np.array([3.0, 0.05]),
        facing=near,
        otherwise=one.lengths,
        trunk_fraction=SEGMENTS.trunk_fraction,
        heel_m=0.0,
    )
    expected = chain.support.share_pct(chain.locate_mass_centre(at))
    assert locate_balance(one.parts, posture) == pytest.approx(expected, abs=1e-9)
    assert compute_moments(one.parts, posture, stature_m=STATURE_M) == pytest.approx(
        chain.compute_moments(at), abs=1e-12
    )


@given(at=leans)
def test_openings_and_bows_are_those_of_the_photos_conventions(at: Floats) -> None:
    """The chain's own signs against geometry/, which reads photos (y down, left side near)."""
    one = body()
    chain = one.chain(np.zeros(1))
    photo = chain_points(chain, one.lengths, at)[0] * np.array([1.0, -1.0])
    names = ("malleolus", "knee", "hip", "trunk", "shoulder", "wrist")
    feet, knee, hip, trunk, shoulder, wrist = (photo[INDEX[name]] for name in names)
    facing = np.array(1.0)
    joints = ((trunk, shoulder, wrist), (hip, trunk, shoulder), (knee, hip, trunk))
    openings = np.array([joint_opening(*three, facing) for three in joints])
    assert openings_of(at)[0] == pytest.approx(openings, abs=1e-9)
    on_line = np.stack([shoulder, trunk, hip, knee])
    bows = 100.0 * bow_fraction(on_line, feet, wrist, facing)
    assert draw_line(chain, at).bow_pct[0] == pytest.approx(bows, abs=1e-9)


@given(at=leans, joint=st.integers(0, 3))
def test_slopes_and_curves_of_the_line_are_those_of_differences(at: Floats, joint: int) -> None:
    chain = body().chain(np.zeros(1))
    step = 1e-5 * np.eye(4)[joint]
    line, up, down = (draw_line(chain, at + shift) for shift in (0.0 * step, step, -step))
    costs = [weigh_line(one, STANCE.lean_weight_pct) for one in (line, up, down)]
    for slope, high, low, unit in (
        (line.bow_slope[..., joint], up.bow_pct, down.bow_pct, 1e-5),
        (line.bow_curve[..., joint], up.bow_slope, down.bow_slope, 1e-4),
        (line.lean_slope[..., joint], up.lean, down.lean, 1e-6),
        (line.lean_curve[..., joint], up.lean_slope, down.lean_slope, 1e-6),
        (costs[0].slope[:, joint], costs[1].value, costs[2].value, 1e-4),
        (costs[0].curve[..., joint], costs[1].slope, costs[2].slope, 1e-2),
    ):
        assert slope == pytest.approx((high - low) / 2e-5, abs=unit)


@given(at=leans)
def test_shares_of_the_bow_add_up_to_one_and_do_not_see_tilt(at: Floats) -> None:
    one = body()
    chain = one.chain(np.zeros(1))
    assume(np.abs(draw_line(chain, at).bow_pct).max() > 0.5)
    points_m = chain_points(chain, one.lengths, at)
    shares = share_bow(points_m)
    assert shares.sum() == pytest.approx(1.0, abs=1e-9)
    assert share_bow(chain_points(chain, one.lengths, at + 0.2)) == pytest.approx(shares, abs=1e-9)
    assert share_bow(points_m * np.array([-1.0, 1.0])) == pytest.approx(shares, abs=1e-9)


@given(joint=st.integers(0, 2), opening=st.floats(0.05, 0.8), sign=st.sampled_from([-1.0, 1.0]))
def test_one_bent_joint_has_the_whole_bow(joint: int, opening: float, sign: float) -> None:
    one = body()
    openings = sign * opening * np.eye(3)[[joint]]
    at = leans_of(np.zeros(1), openings)
    shares = share_bow(chain_points(one.chain(np.zeros(1)), one.lengths, at))
    assert shares[0] == pytest.approx(np.eye(4)[joint], abs=1e-9)


#: Of properties for each of which two or three lines are solved.
a_line_each = settings(max_examples=50)
ranges = st.fixed_dictionaries(
    {
        "shoulder_opening": st.floats(-50.0, 15.0),
        "hip_opening": st.floats(-30.0, 15.0),
        "trunk_rounding": st.floats(-10.0, 25.0),
        "trunk_arching": st.floats(12.0, 50.0),
        "wrist_extension": st.floats(0.0, 40.0),
        "shoulder_moment": st.floats(0.02, 0.15),
        "hip_moment": st.floats(0.02, 0.15),
    }
)


@a_line_each
@given(given_deg=ranges, gains=st.lists(st.floats(0.0, 20.0), min_size=5, max_size=5))
def test_more_range_never_makes_the_line_worse(
    given_deg: dict[str, float], gains: list[float]
) -> None:
    more = dict(given_deg)
    for name, gain in zip(given_deg, gains, strict=False):
        more[name] += gain
    less, line = solve(limits_deg(**given_deg)), solve(limits_deg(**more))
    if less.possible[0]:
        assert line.possible[0]
        assert line.cost_pct[0] <= less.cost_pct[0] + 1e-5
    assert (less.price >= 0.0).all()


@a_line_each
@given(given_deg=ranges)
def test_a_line_keeps_her_limits_and_balances(given_deg: dict[str, float]) -> None:
    line = solve(limits_deg(**given_deg))
    shoulder, trunk, hip = np.rad2deg(line.openings[0])
    tight = 1e-6
    assert shoulder <= given_deg["shoulder_opening"] + tight
    assert hip <= given_deg["hip_opening"] + tight
    assert -given_deg["trunk_rounding"] - tight <= trunk <= given_deg["trunk_arching"] + tight
    assert np.rad2deg(line.leans[0, 0]) >= -given_deg["wrist_extension"] - tight
    if line.possible[0]:
        assert 10.0 - 0.01 <= line.balance_pct[0] <= 90.0 + 0.01
        most = [given_deg["shoulder_moment"], given_deg["hip_moment"]]
        assert (np.abs(line.moments[0, [1, 3]]) <= np.array(most) + 2e-6).all()


@a_line_each
@given(given_deg=ranges)
def test_a_line_is_found_again_from_where_it_is(given_deg: dict[str, float]) -> None:
    limits = limits_deg(**given_deg)
    cold = solve(limits)
    warm = solve_body(body(), limits, STANCE, STEPS, warm=cold.leans)
    assert warm.cost_pct == pytest.approx(cold.cost_pct, rel=1e-4, abs=1e-4)
    assert (solve(limits).leans == cold.leans).all()


@a_line_each
@given(given_deg=ranges, push_m=st.floats(-0.03, 0.03), factor=st.floats(0.7, 1.3))
def test_a_line_does_not_depend_on_how_tall_she_is(
    given_deg: dict[str, float], push_m: float, factor: float
) -> None:
    limits = limits_deg(**given_deg, push_m=push_m)
    taller = replace(limits, shoulder_push_m=limits.shoulder_push_m * factor)
    one = solve(limits)
    other = solve(taller, body(stature_m=STATURE_M * factor))
    assert other.cost_pct == pytest.approx(one.cost_pct, rel=1e-4, abs=1e-4)


@a_line_each
@given(given_deg=ranges)
def test_draws_do_not_disturb_each_other(given_deg: dict[str, float]) -> None:
    both = {name: np.array([value, 0.9 * value]) for name, value in given_deg.items()}
    alone = solve(limits_deg(**given_deg)).leans[0]
    assert solve(limits_deg(**both)).leans[0] == pytest.approx(alone, abs=1e-9)


def test_the_sense_of_the_knee_is_the_other_way() -> None:
    assert SENSES.tolist() == [1.0, 1.0, 1.0, 1.0, -1.0]
