"""Values with their random error, checked against closed forms and what was asked for."""

from dataclasses import replace

import numpy as np
import pytest

from chordline.core.body.measures import ALL_MEASURES, compute_measures
from chordline.core.body.points import CHORD_TO_SHOULDER
from chordline.core.body.reading import read_body
from chordline.core.geometry.plane import PlaneFrame
from stick_body import STRAIGHT, VIEWS, along, see, with_places

PRONE = VIEWS["prone, head left"]
ARCH = see(with_places(hip=(6, 72)), PRONE)
SD = np.full(len(ARCH.names), 4.0)


def test_values_are_those_of_the_measures_in_the_order_asked() -> None:
    wanted = ("bow_max_pct", "hip_opening_deg", "bow_rms_pct", "knee_opening_deg")
    reading = read_body(ARCH, SD, wanted)
    assert reading.names == wanted
    assert reading.values == pytest.approx(compute_measures(ARCH, wanted)[0])
    assert reading.covariance.shape == (4, 4)
    assert list(reading.sd) == list(wanted)


def test_the_knees_error_follows_from_its_segments() -> None:
    # Straight: the joint angle errs by σ √(1/a² + 1/b² + (1/a + 1/b)²), a and b in px.
    a, b = 35 * 6.0, 37 * 6.0
    expected = np.rad2deg(4.0 * np.sqrt(1 / a**2 + 1 / b**2 + (1 / a + 1 / b) ** 2))
    straight = see(STRAIGHT, PRONE)
    assert read_body(straight, SD, ["knee_opening_deg"]).sd["knee_opening_deg"] == pytest.approx(
        expected, rel=1e-6
    )


def test_height_errs_with_its_landmark_alone() -> None:
    frame = PlaneFrame(np.array([0.0, -1.0]), m_per_px=0.002, floor_px=np.zeros(2))
    reading = read_body(replace(ARCH, frame=frame), SD, ["hip_height_cm"])
    assert reading.sd["hip_height_cm"] == pytest.approx(4.0 * 0.2)


def test_measures_that_share_a_landmark_err_together() -> None:
    reading = read_body(ARCH, SD, ["hip_opening_deg", "bow_hip_pct"])
    correlation = reading.covariance[0, 1] / np.prod(list(reading.sd.values()))
    assert correlation > 0.4


def test_a_curve_can_be_read_alone() -> None:
    marks = [(0.0, 75.0), (2.0, 88.0), (2.0, 102.0), (0.0, 115.0)]
    body = see(with_places(**along("seam", marks)), PRONE)
    reading = read_body(body, np.full(len(body.names), 2.0), ["seam_bow_pct"])
    assert reading.names == ("seam_bow_pct",)
    assert reading.sd["seam_bow_pct"] > 0.0


def test_the_covariance_is_symmetric_and_never_negative() -> None:
    shares = np.linspace(0.0, 1.0, 6)
    seam = along("seam", list(zip((3 * shares).tolist(), (75 + 40 * shares).tolist(), strict=True)))
    body = see(with_places(hip=(6, 72), **seam), PRONE)
    cov = read_body(body, np.full(len(body.names), 6.0), ALL_MEASURES).covariance
    assert cov == pytest.approx(cov.T)
    values = np.linalg.eigvalsh(cov)
    assert values.min() > -1e-9 * values.max()


def test_a_measure_whose_landmark_is_missing_is_left_out() -> None:
    holed = ARCH.xy_px.copy()
    holed[0, ARCH.names.index("ear")] = np.nan
    sd = SD.copy()
    sd[ARCH.names.index("ear")] = np.nan
    reading = read_body(ARCH.with_xy(holed), sd, ["neck_flexion_deg", "hip_opening_deg"])
    assert reading.names == ("hip_opening_deg",)
    assert np.isfinite(reading.covariance).all()


def test_the_largest_bow_needs_only_the_bows_that_are_there() -> None:
    body = replace(ARCH, chord=CHORD_TO_SHOULDER)
    reading = read_body(body, SD, ["bow_max_pct", "bow_shoulder_pct"])
    assert reading.names == ("bow_max_pct",)
    assert reading.values[0] == pytest.approx(100 * 6 / 115)


def test_a_body_without_any_bow_has_no_largest() -> None:
    holed = ARCH.xy_px.copy()
    holed[0, ARCH.names.index("malleolus")] = np.nan
    assert read_body(ARCH.with_xy(holed), SD, ["bow_max_pct"]).names == ()


def test_of_two_like_bows_the_largest_errs_less_than_a_slope_would_say() -> None:
    # Two bows of the same size to the same side: the larger of them varies less than either.
    twin = see(with_places(knee=(5, 35), hip=(5, 72), shoulder=(5, 115)), PRONE)
    sd = read_body(twin, SD, ["bow_hip_pct", "bow_max_pct"]).sd
    assert sd["bow_max_pct"] < 0.95 * sd["bow_hip_pct"]


def test_reading_twice_gives_the_same_to_the_last_digit() -> None:
    first, second = (read_body(ARCH, SD, ALL_MEASURES) for _ in range(2))
    assert (first.covariance == second.covariance).all()


def test_two_bodies_at_once_are_refused() -> None:
    with pytest.raises(ValueError, match="one body is read at a time, not 2"):
        read_body(ARCH.with_xy(np.repeat(ARCH.xy_px, 2, axis=0)), SD, ["hip_opening_deg"])


@pytest.mark.parametrize("bad", [np.nan, np.inf, -1.0])
def test_a_landmark_without_an_error_is_refused(bad: float) -> None:
    sd = SD.copy()
    sd[ARCH.names.index("hip")] = bad
    with pytest.raises(ValueError, match="needs an error"):
        read_body(ARCH, sd, ["knee_opening_deg"])
