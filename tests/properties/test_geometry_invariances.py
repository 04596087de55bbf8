"""What must not matter: where the body lies in the picture, how large, how turned, which mirror.

Checked against the symmetries of the plane, on stick bodies with random joints.
"""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from chordline.core.body.measures import ALL_MEASURES, MEASURES, compute_measures
from chordline.core.body.points import BodyPoints
from chordline.core.geometry.angles import joint_opening, turn_towards_front
from chordline.core.geometry.curve import fit_curve, sagitta_fraction, turning
from chordline.core.geometry.plane import PlaneFrame, apply_homography, fit_homography
from chordline.core.geometry.propagation import covariance, jacobian
from stick_body import STRAIGHT, VIEWS, Place, along, see, with_places

GRAVITY = ("hip_height_cm", "legs_", "trunk_above", "line_from", "trunk_from", "off_")
#: Read off the body alone; the largest bow apart, whose sign may jump at a tie.
BODY_ONLY = tuple(
    name for name in ALL_MEASURES if not name.startswith(GRAVITY) and name != "bow_max_pct"
)
UNSIGNED = ("bow_rms_pct", "ear_above_shoulder_pct", "hip_height_cm", "legs_", "trunk_above")
FLOOR = PlaneFrame(np.array([0.0, -1.0]), m_per_px=0.002, floor_px=np.array([0.0, 900.0]))

centimetres = st.floats(-6.0, 6.0)
angles = st.floats(-np.pi, np.pi)
views = st.sampled_from(sorted(VIEWS)).map(VIEWS.__getitem__)


@st.composite
def curve_marks(draw: st.DrawFn, height: float) -> list[Place]:
    """A row of marks that bulges clearly to one side, roughly even."""
    count = draw(st.integers(4, 8))
    bulge = draw(st.floats(4.0, 10.0)) * draw(st.sampled_from([1.0, -1.0]))
    shares = np.linspace(0.0, 1.0, count)
    jitter = np.array(draw(st.lists(st.floats(-0.8, 0.8), min_size=count, max_size=count)))
    front = 4.0 * bulge * shares * (1.0 - shares) + jitter
    return list(zip(front.tolist(), (height + 40.0 * shares).tolist(), strict=True))


@st.composite
def bodies(draw: st.DrawFn) -> BodyPoints:
    """Joints up to 6 cm off the line, with three curves, in one of the eight views."""
    moved = {
        name: (front + draw(centimetres), up + draw(centimetres) / 3.0)
        for name, (front, up) in STRAIGHT.items()
    }
    back, seam = along("back", draw(curve_marks(74.0))), along("seam", draw(curve_marks(76.0)))
    belly = along("belly", draw(curve_marks(76.0)))
    curves = {**back, **seam, **belly}
    return see(with_places(**moved, **curves), draw(views), frame=FLOOR)


def rotation(angle: float) -> np.ndarray:
    return np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])


def measure(body: BodyPoints, names: tuple[str, ...]) -> np.ndarray:
    return compute_measures(body, names)[0]


def apart(one: np.ndarray, other: np.ndarray) -> np.ndarray:
    """Differences; an upright body hangs half a turn from the handstand's vertical: −180 is 180."""
    return (one - other + 180.0) % 360.0 - 180.0


def mirrored(body: BodyPoints) -> BodyPoints:
    """The picture flipped left to right; gravity and floor stay where they are."""
    return body.with_xy(body.xy_px * [-1.0, 1.0] + [1600.0, 0.0])


@given(bodies(), angles, st.floats(0.1, 10.0), st.tuples(centimetres, centimetres))
def test_body_measures_do_not_know_place_turn_or_size(
    body: BodyPoints, angle: float, size: float, shift: tuple[float, float]
) -> None:
    moved = body.with_xy(size * body.xy_px @ rotation(angle).T + 100.0 * np.array(shift))
    assert measure(moved, BODY_ONLY) == pytest.approx(measure(body, BODY_ONLY), abs=1e-7)


@given(bodies(), angles)
def test_gravity_measures_turn_with_the_picture_when_gravity_does(
    body: BodyPoints, angle: float
) -> None:
    turn = rotation(angle)
    frame = replace(FLOOR, up=turn @ FLOOR.up, floor_px=turn @ np.asarray(FLOOR.floor_px))
    turned = replace(body, xy_px=body.xy_px @ turn.T, frame=frame)
    names = tuple(MEASURES)
    assert apart(measure(turned, names), measure(body, names)) == pytest.approx(0.0, abs=1e-7)


@given(bodies())
def test_the_mirror_image_of_the_other_side_is_the_same_body(body: BodyPoints) -> None:
    other = replace(mirrored(body), facing=-body.facing)
    names = tuple(MEASURES)
    assert apart(measure(other, names), measure(body, names)) == pytest.approx(0.0, abs=1e-7)


@given(bodies())
def test_the_mirror_image_of_the_same_side_turns_every_signed_measure(body: BodyPoints) -> None:
    names = tuple(MEASURES)
    sign = np.array([1.0 if name.startswith(UNSIGNED) else -1.0 for name in names])
    flipped = measure(mirrored(body), names)
    assert apart(flipped, sign * measure(body, names)) == pytest.approx(0.0, abs=1e-7)


@given(bodies())
def test_the_largest_bow_is_one_of_the_bows_and_none_is_larger(body: BodyPoints) -> None:
    bows = measure(body, ("bow_knee_pct", "bow_hip_pct", "bow_shoulder_pct"))
    (largest,) = measure(body, ("bow_max_pct",))
    assert largest in bows
    assert abs(largest) == np.abs(bows).max()


@given(bodies())
def test_the_rms_bow_lies_between_nought_and_the_largest(body: BodyPoints) -> None:
    largest, rms = measure(body, ("bow_max_pct", "bow_rms_pct"))
    assert 0.0 <= rms <= abs(largest) * (1.0 + 1e-12)


@given(bodies(), st.lists(st.integers(0, 1000), min_size=2, max_size=4), st.integers(0, 9))
@pytest.mark.slow
def test_many_bodies_at_once_are_measured_like_one_by_one(
    body: BodyPoints, seeds: list[int], missing: int
) -> None:
    shape = body.xy_px.shape[1:]
    moved = [body.xy_px[0] + np.random.default_rng(seed).normal(0, 20, shape) for seed in seeds]
    moved[-1][missing] = np.nan
    together = compute_measures(body.with_xy(np.array(moved)), ALL_MEASURES)
    apiece = [compute_measures(body.with_xy(row[None]), ALL_MEASURES)[0] for row in moved]
    assert together == pytest.approx(np.array(apiece), abs=1e-9, nan_ok=True)


points = st.tuples(st.floats(-500, 500), st.floats(-500, 500)).map(np.array)


@given(points, points, points, st.sampled_from([1.0, -1.0]))
def test_a_joint_read_from_the_other_end_opens_to_the_other_side(
    a: np.ndarray, joint: np.ndarray, b: np.ndarray, facing: float
) -> None:
    assume(min(np.linalg.norm(a - joint), np.linalg.norm(b - joint)) > 1.0)
    forth = joint_opening(a, joint, b, np.array(facing))
    back = joint_opening(b, joint, a, np.array(facing))
    assume(abs(abs(forth) - np.pi) > 1e-6)
    assert back == pytest.approx(-forth, abs=1e-12)
    assert joint_opening(a, joint, b, np.array(-facing)) == pytest.approx(-forth, abs=1e-12)


@given(angles, angles, st.floats(0.1, 100.0), st.sampled_from([1.0, -1.0]))
def test_a_turn_and_its_return_cancel(
    first: float, second: float, length: float, facing: float
) -> None:
    a = np.array([np.cos(first), np.sin(first)])
    b = length * np.array([np.cos(second), np.sin(second)])
    there = turn_towards_front(a, b, np.array(facing))
    assume(abs(abs(there) - np.pi) > 1e-6)
    assert turn_towards_front(b, a, np.array(facing)) == pytest.approx(-there, abs=1e-12)


@given(curve_marks(0.0), angles, st.floats(0.1, 50.0))
def test_curve_measures_do_not_know_place_turn_or_size(
    marks: list[Place], angle: float, size: float
) -> None:
    here = np.array(marks)
    there = size * here @ rotation(angle).T + [300.0, -200.0]
    left_near = np.array(1.0)
    for read in (
        lambda curve: sagitta_fraction(curve, left_near),
        lambda curve: turning(curve, 0.0, 1.0, left_near),
        lambda curve: turning(curve, 0.25, 0.75, left_near),
    ):
        assert read(fit_curve(there)) == pytest.approx(read(fit_curve(here)), abs=1e-8)


@given(curve_marks(0.0))
def test_a_curve_run_the_other_way_bulges_to_the_other_side(marks: list[Place]) -> None:
    forth, back = fit_curve(np.array(marks)), fit_curve(np.array(marks[::-1]))
    left_near = np.array(1.0)
    assert sagitta_fraction(back, left_near) == pytest.approx(
        -sagitta_fraction(forth, left_near), abs=1e-8
    )
    assert turning(back, 0.0, 1.0, left_near) == pytest.approx(
        -turning(forth, 0.0, 1.0, left_near), abs=1e-8
    )


@st.composite
def quadrilaterals(draw: st.DrawFn) -> np.ndarray:
    """Four corners, each within a third of a side of those of a square."""
    square = np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]])
    wobble = np.array(draw(st.lists(st.floats(-0.3, 0.3), min_size=8, max_size=8)))
    return (square + wobble.reshape(4, 2)) * draw(st.floats(1.0, 1000.0))


@given(quadrilaterals(), quadrilaterals())
def test_a_homography_maps_there_and_back(source: np.ndarray, target: np.ndarray) -> None:
    there, back = fit_homography(source, target), fit_homography(target, source)
    size = np.abs(source).max()
    assert apply_homography(there, source) == pytest.approx(target, abs=1e-7 * np.abs(target).max())
    assert apply_homography(back, target) == pytest.approx(source, abs=1e-7 * size)
    middle = source.mean(axis=0)
    returned = apply_homography(back, apply_homography(there, middle))
    assert returned == pytest.approx(middle, abs=1e-6 * size)


@given(quadrilaterals(), quadrilaterals())
def test_a_homography_keeps_straight_lines_straight(source: np.ndarray, target: np.ndarray) -> None:
    h = fit_homography(source, target)
    a, b = source[0], source[2]
    first, between, last = apply_homography(h, np.array([a, 0.7 * a + 0.3 * b, b]))
    across = np.cross([*(last - first), 0.0], [*(between - first), 0.0])[2]
    assert abs(across) < 1e-6 * np.linalg.norm(last - first) ** 2


@given(bodies(), st.floats(0.5, 8.0), st.floats(0.1, 10.0))
def test_the_covariance_grows_with_the_square_of_the_errors(
    body: BodyPoints, sd_px: float, factor: float
) -> None:
    names = ("hip_opening_deg", "bow_hip_pct", "neck_flexion_deg")
    slopes = jacobian(lambda xy: compute_measures(body.with_xy(xy), names), body.xy_px[0])
    sd = np.full(len(body.names), sd_px)
    assert covariance(slopes, factor * sd) == pytest.approx(factor**2 * covariance(slopes, sd))


@given(bodies(), st.floats(0.2, 5.0))
def test_a_larger_picture_with_larger_errors_is_as_sure(body: BodyPoints, size: float) -> None:
    names = ("hip_opening_deg", "bow_hip_pct", "neck_flexion_deg")

    def cov(xy_px: np.ndarray, sd_px: float) -> np.ndarray:
        slopes = jacobian(lambda xy: compute_measures(body.with_xy(xy), names), xy_px)
        return covariance(slopes, np.full(len(body.names), sd_px))

    assert cov(size * body.xy_px[0], size * 3.0) == pytest.approx(cov(body.xy_px[0], 3.0), rel=1e-4)
