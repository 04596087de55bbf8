"""Plane geometry, checked against other implementations of the same figure.

Angles: arguments of complex numbers, rotations of scipy. Homographies: OpenCV. Curves:
numpy.polyfit on the same parameter, and the closed form of circular arcs. Verdicts: scipy's normal
distribution.
"""

import cv2
import numpy as np
import pytest
from scipy.spatial.transform import Rotation
from scipy.stats import norm

from chordline.core.body.verdict import Verdict, judge
from chordline.core.geometry.angles import joint_opening, turn_towards_front
from chordline.core.geometry.curve import arc_angle, fit_curve, sagitta_fraction, turning
from chordline.core.geometry.plane import apply_homography, fit_homography

LEFT_NEAR = np.array(1.0)


def test_openings_are_arguments_of_complex_numbers() -> None:
    rng = np.random.default_rng(11)
    caudal, joint, cranial = rng.uniform(0, 1000, (3, 500, 2))
    z = [p[:, 0] - 1j * p[:, 1] for p in (caudal, joint, cranial)]  # y up
    # From the line coming from the feet to the line going to the hands, positive to the left as
    # seen; that is towards the front when the left side is near, and then the joint closes.
    bend = np.angle((z[2] - z[1]) / (z[1] - z[0]))
    assert joint_opening(caudal, joint, cranial, LEFT_NEAR) == pytest.approx(-bend, abs=1e-12)
    assert joint_opening(caudal, joint, cranial, -LEFT_NEAR) == pytest.approx(bend, abs=1e-12)


def test_a_segment_turned_by_scipy_opens_by_that_angle() -> None:
    # The left side is near and the body upright: a turn of the trunk about the depth axis away
    # from the belly (clockwise as seen, positive with y down) opens the hip.
    for degrees in (-120.0, -20.0, -0.01, 0.3, 45.0, 170.0):
        turn = Rotation.from_euler("z", degrees, degrees=True)
        trunk = turn.apply([0.0, -300.0, 0.0])[:2]
        opening = joint_opening(np.array([0.0, 400.0]), np.zeros(2), trunk, LEFT_NEAR)
        assert np.rad2deg(opening) == pytest.approx(degrees, abs=1e-9)
        towards = turn_towards_front(np.array([0.0, -1.0]), trunk, LEFT_NEAR)
        assert np.rad2deg(towards) == pytest.approx(-degrees, abs=1e-9)


@pytest.mark.parametrize("count", [4, 5, 20])
def test_exact_points_give_the_homography_of_opencv(count: int) -> None:
    rng = np.random.default_rng(count)
    h_true = np.array([[1.1, 0.1, 30.0], [-0.2, 0.9, 60.0], [2e-4, -1e-4, 1.0]])
    source = rng.uniform(0, 1000, (count, 2))
    target = apply_homography(h_true, source)
    ours, theirs = fit_homography(source, target), cv2.findHomography(source, target)[0]
    assert ours == pytest.approx(h_true, rel=1e-6, abs=1e-9)
    assert ours == pytest.approx(theirs, rel=1e-5, abs=1e-8)


def test_four_noisy_corners_give_the_homography_of_opencv() -> None:
    rng = np.random.default_rng(5)
    square = np.array([[-0.08, 0.08], [0.08, 0.08], [0.08, -0.08], [-0.08, -0.08]])
    seen = square * [500.0, -510.0] + [900.0, 700.0] + rng.normal(0, 2.0, (4, 2))
    ours = apply_homography(fit_homography(square, seen), square * 3.0)
    theirs = cv2.perspectiveTransform((square * 3.0)[None], cv2.findHomography(square, seen)[0])[0]
    # OpenCV polishes its answer until it moves by less than this [px].
    assert ours == pytest.approx(theirs, abs=1e-3)


def test_points_are_mapped_like_opencv_maps_them() -> None:
    h = np.array([[1.1, 0.1, 30.0], [-0.2, 0.9, 60.0], [2e-4, -1e-4, 1.0]])
    points = np.random.default_rng(2).uniform(0, 1000, (1, 50, 2))
    assert apply_homography(h, points) == pytest.approx(cv2.perspectiveTransform(points, h))


@pytest.mark.parametrize("degree", [2, 3])
@pytest.mark.parametrize("count", [4, 6, 12])
def test_a_fitted_curve_is_numpys_polynomial_of_the_length_along_it(
    count: int, degree: int
) -> None:
    rng = np.random.default_rng(count)
    shares = np.linspace(0, 1, count)
    marks = np.column_stack([40 * np.sin(3 * shares), 300 * shares]) + rng.normal(0, 3, (count, 2))
    steps = np.hypot(*np.diff(marks, axis=0).T)
    where = np.concatenate([[0], np.cumsum(steps)]) / steps.sum()
    fine = np.linspace(0, 1, 50)
    by_numpy = np.column_stack([np.polyval(np.polyfit(where, m, degree), fine) for m in marks.T])
    curve = fit_curve(marks, degree=degree)
    assert curve.at(fine) == pytest.approx(by_numpy, abs=1e-7)
    slopes = [np.polyval(np.polyder(np.polyfit(where, m, degree)), fine) for m in marks.T]
    assert curve.tangent(fine) == pytest.approx(np.column_stack(slopes), abs=1e-6)


#: Turn of the arc, and by how much the cubic may miss its sagitta (relative) and its turn [deg].
#: The cubic's own error grows with the third power of the turn; a child's back stays below 60°.
ARCS = [(10.0, 1e-3, 0.01), (30.0, 1e-3, 0.2), (60.0, 3e-3, 1.3), (90.0, 8e-3, 3.5)]


@pytest.mark.parametrize(("turn_deg", "sagitta_miss", "turn_miss_deg"), ARCS)
@pytest.mark.parametrize("sense", [1.0, -1.0], ids=["hollow", "rounded"])
def test_an_arc_has_the_sagitta_and_turn_of_its_circle(
    turn_deg: float, sagitta_miss: float, turn_miss_deg: float, sense: float
) -> None:
    half = np.deg2rad(turn_deg) / 2.0
    along = np.linspace(-half, half, 7)
    # Head up, left side near: the front is to the left, where the arc bulges.
    arc = 300.0 * np.column_stack([-sense * np.cos(along), -np.sin(along)])
    curve = fit_curve(arc)
    sagitta = (1.0 - np.cos(half)) / (2.0 * np.sin(half))
    assert sagitta_fraction(curve, LEFT_NEAR) == pytest.approx(sense * sagitta, rel=sagitta_miss)
    turned = np.rad2deg(turning(curve, 0.0, 1.0, LEFT_NEAR))
    assert turned == pytest.approx(sense * turn_deg, abs=turn_miss_deg)
    assert np.rad2deg(arc_angle(np.array(sagitta))) == pytest.approx(turn_deg)


def test_a_flexicurve_index_of_ten_is_an_arc_of_forty_five_degrees() -> None:
    # Computed, not published: 4·atan(2 · 0.10) = 45.24°.
    assert np.rad2deg(arc_angle(np.array(0.10))) == pytest.approx(45.2, abs=0.05)


@pytest.mark.parametrize("certainty", [0.5, 0.6, 0.9])
@pytest.mark.parametrize("sd", [0.5, 3.0, 8.0])
def test_a_verdict_is_the_likeliest_part_of_a_normal_distribution(
    sd: float, certainty: float
) -> None:
    on_line, close = 5.0, 12.0
    seen = set()
    for value in np.linspace(-25.0, 25.0, 51):
        spread = norm(value, sd)
        within = {
            "closing": [spread.sf(-on_line), spread.sf(-close)],
            "opening": [spread.cdf(on_line), spread.cdf(close)],
            "both": [spread.cdf(limit) - spread.cdf(-limit) for limit in (on_line, close)],
        }
        for sense, (p_on_line, p_close) in within.items():
            chances = [p_on_line, p_close - p_on_line, 1.0 - p_close]
            if abs(max(chances) - certainty) < 1e-9:
                continue
            words = [Verdict.ON_THE_LINE, Verdict.CLOSE, Verdict.SHORT]
            likeliest = words[int(np.argmax(chances))]
            expected = likeliest if max(chances) >= certainty else Verdict.CANNOT_TELL
            said = judge(
                float(value), sd=sd, sense=sense, on_line=on_line, close=close, certainty=certainty
            )
            assert said is expected
            seen.add(said)
    assert len(seen) >= 3
