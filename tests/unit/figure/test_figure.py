"""The drawn figure: lengths kept, mirrored as a whole, and standing on what it stands on."""

import cmath
import math
from dataclasses import fields, replace
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from chordline.core.figure.chain import bend
from chordline.core.figure.pose import Build, Pose
from chordline.core.figure.stand import Figure, Support, Target, stand

BUILD = Build(
    trunk=0.288,
    thigh=0.245,
    shank=0.246,
    foot=0.114,
    upper_arm=0.186,
    forearm=0.146,
    hand=0.048,
    head=0.115,
)
UPRIGHT = Pose(math.pi / 2, ankle=-math.pi / 2, shoulder=-math.pi)
SHARES = {"push", "spread"}
angles = st.floats(-math.pi, math.pi)
poses = st.builds(
    Pose,
    **{one.name: st.just(0.0) if one.name in SHARES else angles for one in fields(Pose)},
)
LINKS = {
    "thigh": ("hip", "knee"),
    "shank": ("knee", "malleolus"),
    "upper_arm": ("shoulder", "elbow"),
    "forearm": ("elbow", "wrist"),
    "hand": ("wrist", "hand"),
}


def length(figure: Figure, one: str, other: str) -> float:
    return abs(figure.joints[other] - figure.joints[one])


@given(poses)
def test_lengths_are_kept_for_any_angles(pose: Pose) -> None:
    figure = stand(pose, BUILD, Support())
    for link, (one, other) in LINKS.items():
        for mark in ("", "far_"):
            root = "hip" if one == "hip" else mark + one
            assert length(figure, root, mark + other) == pytest.approx(getattr(BUILD, link))
    spine = figure.spine
    steps = sum(abs(b - a) for a, b in pairwise(spine))
    assert steps == pytest.approx(BUILD.trunk)
    assert length(figure, "neck", "ear") == pytest.approx(BUILD.head)


@given(poses)
def test_the_lowest_place_touches_the_floor(pose: Pose) -> None:
    figure = stand(pose, BUILD, Support())
    assert min(disc.lowest for disc in figure.discs) == pytest.approx(0.0, abs=1e-9)


@given(poses)
def test_a_mirrored_figure_is_as_high_and_faces_the_other_way(pose: Pose) -> None:
    figure = stand(pose, BUILD, Support())
    mirrored = figure.mirrored()
    for name, at in figure.joints.items():
        assert mirrored.joints[name] == complex(-at.real, at.imag)
    assert [d.lowest for d in mirrored.discs] == [d.lowest for d in figure.discs]


def test_a_figure_upright_faces_right_with_its_toes() -> None:
    joints = stand(UPRIGHT, BUILD, Support()).joints
    assert joints["toe"].real > joints["malleolus"].real + 0.1
    assert joints["ear"].imag > joints["shoulder"].imag > joints["hip"].imag > joints["knee"].imag
    assert joints["hand"].imag < joints["hip"].imag


@pytest.mark.parametrize(
    ("joint", "place", "sign"),
    [("hip", "knee", -1), ("shoulder", "elbow", -1), ("neck", "ear", -1)],
)
def test_opening_moves_a_limb_behind_a_figure_that_faces_right(
    joint: str, place: str, sign: int
) -> None:
    arms_over = replace(UPRIGHT, shoulder=0.0)
    straight = bend(arms_over, BUILD).joints[place]
    opened = bend(replace(arms_over, **{joint: math.radians(20.0)}), BUILD).joints[place]
    assert math.copysign(1.0, (opened - straight).real) == sign


def test_a_bent_knee_brings_the_heel_behind_and_a_bent_elbow_the_hand_to_the_front() -> None:
    bent = bend(replace(UPRIGHT, knee=-1.5, elbow=-1.5), BUILD).joints
    assert bent["malleolus"].real < bent["knee"].real - 0.2
    assert bent["wrist"].real > bent["elbow"].real + 0.1


@given(st.floats(-1.2, 1.2), st.floats(-1.2, 1.2))
def test_rounding_and_hollowing_leave_hip_and_shoulder_on_the_trunks_line(
    lower: float, upper: float
) -> None:
    spine = bend(replace(UPRIGHT, lower_back=lower, upper_back=upper), BUILD).spine
    assert cmath.phase(spine[-1] - spine[0]) == pytest.approx(math.pi / 2)


def test_a_hollow_lower_back_bows_to_the_front_and_a_round_one_behind() -> None:
    middle = {
        angle: bend(replace(UPRIGHT, lower_back=angle), BUILD).spine[6].real
        for angle in (-0.8, 0.8)
    }
    assert middle[0.8] > 0.01
    assert middle[-0.8] < -0.01


def test_a_plank_is_turned_until_hands_and_feet_both_touch() -> None:
    plank = Pose(0.2, shoulder=-1.4, ankle=-1.3)
    figure = stand(
        plank,
        BUILD,
        Support(on={"palm": 0.0, "ball": 0.1}, aim={"hand": 0.0, "upper_arm": -math.pi / 2}),
    )
    assert min(d.lowest for d in figure.place("palm")) == pytest.approx(0.0, abs=1e-6)
    assert min(d.lowest for d in figure.place("ball")) == pytest.approx(0.1, abs=1e-6)


def test_places_that_cannot_both_touch_are_refused() -> None:
    with pytest.raises(ValueError, match="cannot both touch"):
        stand(UPRIGHT, BUILD, Support(on={"palm": 0.0, "ball": 2.0}))


@given(st.floats(0.05, 0.30), st.floats(0.35, 0.9))
def test_a_hand_comes_to_what_it_reaches_for(x: float, y: float) -> None:
    figure = stand(UPRIGHT, BUILD, Support(reach={"hand": Target(complex(x, y))}))
    shoulder = figure.joints["shoulder"]
    reach = BUILD.upper_arm + BUILD.forearm + BUILD.hand
    if 0.02 < abs(complex(x, y) - shoulder) < reach:
        assert figure.joints["hand"] == pytest.approx(complex(x, y), abs=1e-6)
        assert -math.pi <= figure.pose.elbow <= 0.0


def test_a_hand_that_is_too_short_points_there() -> None:
    figure = stand(UPRIGHT, BUILD, Support(reach={"hand": Target(3.0 + 0.7j)}))
    shoulder, hand = figure.joints["shoulder"], figure.joints["hand"]
    assert cmath.phase(hand - shoulder) == pytest.approx(cmath.phase(3.0 + 0.7j - shoulder))
    assert figure.pose.elbow == pytest.approx(0.0, abs=1e-3)


def test_the_neck_bends_until_the_head_rests() -> None:
    lying = Pose(math.pi, hip=0.0)
    figure = stand(lying, BUILD, Support(on={"seat": 0.0, "upper_back": 0.0}, head_on=0.05))
    assert min(d.lowest for d in figure.place("head")) == pytest.approx(0.05, abs=1e-6)


def test_a_far_limb_stays_where_it_is_when_only_the_near_one_is_changed() -> None:
    pose = Pose(1.5, hip=-0.3, far_knee=-1.0)
    changed = pose.with_angle("hip", "near", 0.4)
    assert changed.of("hip", "near") == 0.4
    assert changed.of("hip", "far") == -0.3
