"""Every measure's sign and size, on a stick body in eight side views.

Checked against plane trigonometry on the centimetres of the stick body, and against the words of
conventions.py. Each scenario names what a coach sees.
"""

import numpy as np
import pytest

from chordline.core.body.measures import (
    ALL_MEASURES,
    DERIVED,
    MEASURES,
    compute_measures,
    unit_of,
)
from chordline.core.body.points import CHORD_TO_SHOULDER
from chordline.core.geometry.plane import PlaneFrame
from stick_body import STRAIGHT, VIEWS, Place, View, along, see, with_places

every_view = pytest.mark.parametrize("view", VIEWS.values(), ids=VIEWS.keys())
only = {word: [v for k, v in VIEWS.items() if k.startswith(word)] for word in ("ups", "pro", "sup")}

ARCH = with_places(hip=(6, 72))
PIKE = with_places(hip=(-6, 72))
CLOSED_SHOULDERS = with_places(elbow=(8, 135), wrist=(15, 152), hand=(18, 161))
OPEN_SHOULDERS = with_places(elbow=(-8, 135), wrist=(-15, 152), hand=(-18, 161))
BENT_KNEES = with_places(knee=(5, 35))
KNEES_BEYOND_STRAIGHT = with_places(knee=(-3, 35))
BENT_ELBOWS = with_places(elbow=(4, 136))
DISH = with_places(malleolus=(28, 8), knee=(14, 38))
HEAD_FORWARD = with_places(ear=(6, 130))
HEAD_BACK = with_places(ear=(-6, 130))
ARMS_BESIDE = with_places(elbow=(0, 93), wrist=(0, 74), hand=(0, 65))
ARMS_BEHIND = with_places(elbow=(-4, 93), wrist=(-8, 74), hand=(-10, 65))


def read(places: dict[str, Place], view: View, name: str, **more: object) -> float:
    return float(compute_measures(see(places, view, **more), [name])[0, 0])  # type: ignore[arg-type]


def atan_deg(opposite: float, adjacent: float) -> float:
    return float(np.rad2deg(np.arctan2(opposite, adjacent)))


@every_view
def test_a_straight_body_is_nought_everywhere(view: View) -> None:
    names = [
        "shoulder_opening_deg",
        "hip_opening_deg",
        "knee_opening_deg",
        "elbow_opening_deg",
        "bow_knee_pct",
        "bow_hip_pct",
        "bow_shoulder_pct",
        "bow_max_pct",
        "bow_rms_pct",
        "neck_flexion_deg",
    ]
    assert compute_measures(see(STRAIGHT, view), names)[0] == pytest.approx(0.0, abs=1e-9)


@every_view
def test_an_arch_opens_the_hips_and_bows_to_the_front(view: View) -> None:
    bend = atan_deg(6, 37) + atan_deg(6, 43)
    assert read(ARCH, view, "hip_opening_deg") == pytest.approx(bend)
    assert read(ARCH, view, "bow_hip_pct") == pytest.approx(100 * 6 / 166)
    assert read(ARCH, view, "bow_max_pct") == pytest.approx(100 * 6 / 166)


@every_view
def test_a_pike_closes_the_hips_and_bows_to_the_back(view: View) -> None:
    bend = atan_deg(6, 37) + atan_deg(6, 43)
    assert read(PIKE, view, "hip_opening_deg") == pytest.approx(-bend)
    assert read(PIKE, view, "bow_max_pct") == pytest.approx(-100 * 6 / 166)


@every_view
def test_the_rms_bow_has_no_sign(view: View) -> None:
    expected = 100 * 6 / 166 / np.sqrt(3)
    assert read(ARCH, view, "bow_rms_pct") == pytest.approx(expected)
    assert read(PIKE, view, "bow_rms_pct") == pytest.approx(expected)


@every_view
def test_arms_in_front_of_the_ears_close_the_shoulders(view: View) -> None:
    closed = atan_deg(15, 152 - 115)
    assert read(CLOSED_SHOULDERS, view, "shoulder_opening_deg") == pytest.approx(-closed)
    assert read(OPEN_SHOULDERS, view, "shoulder_opening_deg") == pytest.approx(closed)


@every_view
def test_closed_shoulders_leave_the_shoulder_behind_the_chord(view: View) -> None:
    assert read(CLOSED_SHOULDERS, view, "bow_shoulder_pct") < -5.0
    assert read(OPEN_SHOULDERS, view, "bow_shoulder_pct") > 5.0


@every_view
def test_a_bent_knee_is_negative_and_one_beyond_straight_positive(view: View) -> None:
    bent = atan_deg(5, 35) + atan_deg(5, 37)
    beyond = atan_deg(3, 35) + atan_deg(3, 37)
    assert read(BENT_KNEES, view, "knee_opening_deg") == pytest.approx(-bent)
    assert read(KNEES_BEYOND_STRAIGHT, view, "knee_opening_deg") == pytest.approx(beyond)
    assert read(BENT_KNEES, view, "bow_knee_pct") > 0.0


@every_view
def test_bent_elbows_are_negative(view: View) -> None:
    bent = atan_deg(4, 21) + atan_deg(4, 20)
    assert read(BENT_ELBOWS, view, "elbow_opening_deg") == pytest.approx(-bent)


@every_view
def test_a_dish_closes_the_hips(view: View) -> None:
    assert read(DISH, view, "hip_opening_deg") == pytest.approx(-atan_deg(14, 34))
    assert read(DISH, view, "bow_max_pct") < -5.0


@every_view
def test_head_forward_is_positive(view: View) -> None:
    assert read(HEAD_FORWARD, view, "neck_flexion_deg") == pytest.approx(atan_deg(6, 15))
    assert read(HEAD_BACK, view, "neck_flexion_deg") == pytest.approx(-atan_deg(6, 15))


@every_view
def test_shoulders_pushed_to_the_ears_bring_the_ear_nearer(view: View) -> None:
    assert read(STRAIGHT, view, "ear_above_shoulder_pct") == pytest.approx(100 * 15 / 43)
    pushed = with_places(ear=(0, 121))
    assert read(pushed, view, "ear_above_shoulder_pct") == pytest.approx(100 * 6 / 43)


@every_view
def test_arms_beside_or_behind_the_trunk_never_read_as_wide_open(view: View) -> None:
    assert read(ARMS_BESIDE, view, "shoulder_opening_deg") == pytest.approx(-180.0)
    behind = -180.0 - atan_deg(8, 115 - 74)
    assert read(ARMS_BEHIND, view, "shoulder_opening_deg") == pytest.approx(behind)


@pytest.mark.parametrize("view", only["ups"])
def test_feet_tipping_to_the_front_in_a_handstand_are_positive(view: View) -> None:
    tipped = with_places(malleolus=(12, 0))
    assert read(tipped, view, "line_from_vertical_deg") == pytest.approx(atan_deg(12, 166))
    assert read(tipped, view, "trunk_from_vertical_deg") == pytest.approx(atan_deg(12, 115))
    over = with_places(malleolus=(-12, 0))
    assert read(over, view, "line_from_vertical_deg") == pytest.approx(-atan_deg(12, 166))
    for either in (tipped, over):
        assert read(either, view, "off_vertical_deg") == pytest.approx(atan_deg(12, 166))


@pytest.mark.parametrize("view", only["ups"])
@pytest.mark.parametrize("lean_deg", [-7.0, 7.0])
def test_a_tilted_phone_is_undone_by_gravity(view: View, lean_deg: float) -> None:
    lean = np.deg2rad(lean_deg)
    turn = np.array([[np.cos(lean), np.sin(lean)], [-np.sin(lean), np.cos(lean)]])
    tipped = see(with_places(malleolus=(12, 0)), view)
    frame = PlaneFrame(np.array([0.0, -1.0]) @ turn)
    turned = see(with_places(malleolus=(12, 0)), view, frame=frame).with_xy(tipped.xy_px @ turn)
    seen = compute_measures(turned, ["line_from_vertical_deg"])[0, 0]
    assert seen == pytest.approx(atan_deg(12, 166))


@pytest.mark.parametrize("view", only["sup"])
def test_legs_and_trunk_lifted_lying_on_the_back_are_positive(view: View) -> None:
    dish = with_places(malleolus=(28, 8), shoulder=(10, 113))
    assert read(dish, view, "legs_above_horizontal_deg") == pytest.approx(atan_deg(28, 64))
    assert read(dish, view, "trunk_above_horizontal_deg") == pytest.approx(atan_deg(10, 41))


@pytest.mark.parametrize("view", only["pro"])
def test_hips_lifted_lying_on_the_stomach_put_the_legs_below_them(view: View) -> None:
    assert read(PIKE, view, "legs_above_horizontal_deg") == pytest.approx(-atan_deg(6, 72))


@pytest.mark.parametrize("view", only["pro"])
def test_the_hips_height_counts_from_the_floor(view: View) -> None:
    # 6 px a centimetre, the body's line at y = 600 px, the floor 60 px = 10 cm below it.
    frame = PlaneFrame(np.array([0.0, -1.0]), m_per_px=0.01 / 6.0, floor_px=np.array([0.0, 660.0]))
    assert read(STRAIGHT, view, "hip_height_cm", frame=frame) == pytest.approx(10.0)
    assert read(PIKE, view, "hip_height_cm", frame=frame) == pytest.approx(16.0)


def bulging(name: str, towards_belly: float) -> dict[str, Place]:
    """Seven marks from 75 to 115 cm, 10 cm behind the body's line, bulging by so much."""
    shares = np.linspace(0.0, 1.0, 7)
    offsets = -10.0 + towards_belly * 4.0 * shares * (1.0 - shares)
    return along(name, list(zip(offsets.tolist(), (75.0 + 40.0 * shares).tolist(), strict=True)))


@every_view
def test_a_hollow_back_is_positive_and_a_rounded_one_negative(view: View) -> None:
    for name in ("lower_back_hollow_deg", "upper_back_hollow_deg"):
        half = atan_deg(4 * 4, 40)
        assert read(bulging("back", 4.0), view, name) == pytest.approx(half, rel=0.1)
        assert read(bulging("back", -4.0), view, name) == pytest.approx(-half, rel=0.1)


@every_view
def test_lower_and_upper_back_are_told_apart(view: View) -> None:
    heights = np.linspace(0.0, 1.0, 8)
    hollow_then_rounded = -10.0 + 3.0 * np.sin(2.0 * np.pi * heights)
    marks = list(zip(hollow_then_rounded.tolist(), (75 + 40 * heights).tolist(), strict=True))
    back = along("back", marks)
    assert read(back, view, "lower_back_hollow_deg") > 20.0
    assert read(back, view, "upper_back_hollow_deg") < -20.0


@every_view
def test_a_seam_that_curves_to_the_belly_is_positive(view: View) -> None:
    assert read(bulging("seam", 4.0), view, "seam_bow_pct") == pytest.approx(10.0, rel=0.01)
    assert read(bulging("seam", 4.0), view, "seam_hollow_deg") > 30.0
    assert read(bulging("seam", -4.0), view, "seam_bow_pct") == pytest.approx(-10.0, rel=0.01)


@every_view
@pytest.mark.parametrize("sign", [1.0, -1.0], ids=["hollow", "rounded"])
def test_a_trunk_arched_to_the_belly_is_positive(view: View, sign: float) -> None:
    arched = bulging("belly", 3.0 * sign)
    # The turn of a parabola; a plain arc of the length along it meets that within a twentieth.
    turn = sign * 2.0 * atan_deg(4 * 3, 40)
    assert read(arched, view, "trunk_hollow_deg") == pytest.approx(turn, rel=0.05)


@every_view
def test_arms_not_overhead_end_the_chord_at_the_shoulder(view: View) -> None:
    body = see(ARCH, view, chord=CHORD_TO_SHOULDER)
    hip, shoulder, largest = compute_measures(
        body, ["bow_hip_pct", "bow_shoulder_pct", "bow_max_pct"]
    )[0]
    assert hip == pytest.approx(100 * 6 / 115)
    assert np.isnan(shoulder)
    assert largest == hip


def test_without_a_wrist_the_arm_ends_at_the_elbow_and_else_at_the_hand() -> None:
    view = VIEWS["prone, head left"]
    closed = dict(CLOSED_SHOULDERS)
    del closed["wrist"]
    assert read(closed, view, "shoulder_opening_deg") == pytest.approx(-atan_deg(8, 20))
    del closed["elbow"]
    assert read(closed, view, "shoulder_opening_deg") == pytest.approx(-atan_deg(18, 46))
    del closed["hand"]
    assert np.isnan(read(closed, view, "shoulder_opening_deg"))


NEEDS = {
    "shoulder_opening_deg": ("hip", "shoulder", "wrist"),
    "hip_opening_deg": ("knee", "hip", "shoulder"),
    "knee_opening_deg": ("malleolus", "knee", "hip"),
    "elbow_opening_deg": ("shoulder", "elbow", "wrist"),
    "bow_knee_pct": ("malleolus", "knee", "hand"),
    "bow_hip_pct": ("malleolus", "hip", "hand"),
    "bow_shoulder_pct": ("malleolus", "shoulder", "hand"),
    "bow_max_pct": ("malleolus", "hand"),
    "bow_rms_pct": ("malleolus", "hand"),
    "neck_flexion_deg": ("hip", "shoulder", "ear"),
    "ear_above_shoulder_pct": ("hip", "shoulder", "ear"),
    "hip_height_cm": ("hip",),
    "legs_above_horizontal_deg": ("hip", "malleolus"),
    "trunk_above_horizontal_deg": ("hip", "shoulder"),
    "line_from_vertical_deg": ("malleolus", "hand"),
    "trunk_from_vertical_deg": ("malleolus", "shoulder"),
    "off_vertical_deg": ("malleolus", "hand"),
    "upper_back_hollow_deg": tuple(f"back_{i}" for i in range(1, 8)),
    "lower_back_hollow_deg": tuple(f"back_{i}" for i in range(1, 8)),
    "seam_bow_pct": tuple(f"seam_{i}" for i in range(1, 8)),
    "seam_hollow_deg": tuple(f"seam_{i}" for i in range(1, 8)),
    "trunk_hollow_deg": tuple(f"belly_{i}" for i in range(1, 8)),
}
FLOOR = PlaneFrame(np.array([0.0, -1.0]), m_per_px=0.002, floor_px=np.array([0.0, 700.0]))
WHOLE = see(
    with_places(
        hip=(2, 72),
        **bulging("back", 3.0),
        **bulging("seam", 2.0),
        **bulging("belly", 3.0),
    ),
    VIEWS["supine, head left"],
    frame=FLOOR,
)


@pytest.mark.parametrize("missing", WHOLE.names)
def test_a_missing_landmark_makes_those_measures_nan_that_need_it(missing: str) -> None:
    holed = WHOLE.xy_px.copy()
    holed[0, WHOLE.names.index(missing)] = np.nan
    values = dict(
        zip(ALL_MEASURES, compute_measures(WHOLE.with_xy(holed), ALL_MEASURES)[0], strict=True)
    )
    lost = {name for name, value in values.items() if np.isnan(value)}
    assert lost == {name for name, needs in NEEDS.items() if missing in needs}


def test_every_measure_is_covered_by_the_table_of_needs() -> None:
    assert set(NEEDS) == set(ALL_MEASURES) == {*MEASURES, *DERIVED}
    assert np.isfinite(compute_measures(WHOLE, ALL_MEASURES)).all()


@pytest.mark.parametrize("name", ALL_MEASURES)
def test_the_name_carries_the_unit(name: str) -> None:
    assert name.endswith("_" + unit_of(name))


def test_marks_on_one_spot_are_not_known_and_warn_nobody() -> None:
    heap = WHOLE.with_xy(np.full_like(WHOLE.xy_px, 400.0))
    values = dict(zip(ALL_MEASURES, compute_measures(heap, ALL_MEASURES)[0], strict=True))
    assert values.pop("hip_height_cm") == pytest.approx(60.0)
    assert np.isnan(list(values.values())).all()


def test_an_unknown_measure_is_refused() -> None:
    with pytest.raises(KeyError, match="grace"):
        compute_measures(WHOLE, ["grace"])


def test_no_measure_asked_gives_an_empty_table() -> None:
    assert compute_measures(WHOLE, []).shape == (1, 0)
