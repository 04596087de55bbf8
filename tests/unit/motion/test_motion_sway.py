"""Sway along one axis: closed forms of sinusoids, noise alone, and the body's centre of mass."""

import numpy as np
import pytest

from chordline.core.geometry.angles import Floats
from chordline.core.mechanics.lengths import lengths_of_stature
from chordline.core.motion.lowpass import LowPass
from chordline.core.motion.sway import (
    Path,
    Sway,
    landmark_of,
    mass_centre_of,
    measure_sway,
    trace_point,
)
from chordline.core.motion.untold import Untold
from moving_bodies import NAMES, course_of, even_times, film, place_joints
from posed_handstands import SEGMENTS

TURN = 2.0 * np.pi


def path_of(x: Floats, rate_hz: float, sd: float = 0.0) -> Path:
    return Path(
        t_s=np.arange(len(x)) / rate_hz,
        front=x,
        random_sd=np.full(len(x), sd),
        unit="cm",
        cutoff_hz=4.0,
        correlation=LowPass(4.0, 30.0).correlation,
    )


def sway_of(path: Path) -> Sway:
    sway = measure_sway(path, most_lost_share=0.2)
    assert isinstance(sway, Sway)
    return sway


@pytest.mark.parametrize("hz", [0.25, 0.5, 1.0])
def test_a_sinusoid_has_the_measures_that_follow_from_its_size_and_beat(hz: float) -> None:
    t = np.arange(0, 20_001) / 1_000.0
    sway = sway_of(path_of(7.0 + 1.5 * np.sin(TURN * hz * t), 1_000.0))
    assert sway.mean_distance == pytest.approx(2.0 / np.pi * 1.5, rel=1e-3)
    assert sway.rms_distance == pytest.approx(1.5 / np.sqrt(2.0), rel=1e-3)
    assert sway.range == pytest.approx(3.0, rel=1e-4)
    assert sway.path == pytest.approx(4.0 * 1.5 * hz * 20.0, rel=1e-3)
    assert sway.mean_speed == pytest.approx(4.0 * 1.5 * hz, rel=1e-3)
    assert sway.mean_frequency_hz == pytest.approx(hz, rel=1e-3)
    assert sway.duration_s == pytest.approx(20.0)


def test_noise_alone_shows_the_speed_that_was_foretold_and_is_not_told() -> None:
    rng = np.random.default_rng(1)
    filt = LowPass(4.0, 30.0)
    seen = [
        sway_of(path_of(filt.smooth(rng.normal(0.0, 1.0, 900)), 30.0, filt.noise_gain))
        for _ in range(100)
    ]
    speed = np.mean([one.mean_speed for one in seen])
    assert seen[0].noise_speed == pytest.approx(speed, rel=0.02)
    assert seen[0].noise_rms == pytest.approx(np.mean([one.rms_distance for one in seen]), rel=0.03)
    # One in twenty by chance.
    assert np.mean([one.speed_is_told for one in seen]) < 0.12
    assert np.mean([one.is_told for one in seen]) < 0.12


def test_sway_above_the_noise_is_told() -> None:
    rng = np.random.default_rng(2)
    filt, t = LowPass(4.0, 30.0), even_times(30.0)
    x = filt.smooth(2.0 * np.sin(TURN * 0.6 * t) + rng.normal(0.0, 0.5, len(t)))
    sway = sway_of(path_of(x, 30.0, 0.5 * filt.noise_gain))
    assert sway.is_told
    assert sway.speed_is_told


def test_too_short_too_often_lost_and_motionless_paths_are_not_told() -> None:
    t = even_times(10.0)
    x = np.sin(t)
    assert measure_sway(path_of(x[:45], 30.0), most_lost_share=0.2) == Untold(
        "too-short", pytest.approx(44 / 30.0), 2.0
    )
    half = np.where(t < 5.0, np.nan, x)
    lost = measure_sway(path_of(half, 30.0), most_lost_share=0.2)
    assert isinstance(lost, Untold)
    assert (lost.reason, lost.have) == ("body-lost", 0.5)
    still = measure_sway(path_of(np.zeros(300), 30.0), most_lost_share=0.2)
    assert still == Untold("not-moved-in-the-picture")


def test_a_gap_is_no_way() -> None:
    t = np.arange(0, 20_001) / 1_000.0
    x = np.sin(TURN * 0.5 * t)
    x[5_000:6_500] = np.nan
    sway = sway_of(path_of(x, 1_000.0))
    assert sway.mean_speed == pytest.approx(2.0, rel=0.02)


def handstand(t: Floats, sway_deg: float) -> Floats:
    """Upside-down, feet up; the hand stays where it is while the body turns about it."""
    lean = lambda time: sway_deg * np.sin(TURN * 0.5 * time)  # noqa: E731
    xy = place_joints(t, heading_deg=-90.0, turn=lean)
    return xy - xy[:, [NAMES.index("hand")]] + np.array([900.0, 1_700.0])


def test_the_hips_of_a_body_that_turns_about_the_hand_sway_as_far_as_they_are_high() -> None:
    t = even_times(20.0)
    course = course_of(film(t, handstand(t, 2.0)), cutoff_hz=4.0)
    path = trace_point(course, landmark_of(course, "hip"), base="hand", px_per_unit=6.0, unit="cm")
    sway = sway_of(path)
    assert sway.range == pytest.approx(2.0 * 94.0 * np.sin(np.deg2rad(2.0)), rel=0.02)
    assert sway.mean_frequency_hz == pytest.approx(0.5, rel=0.02)
    assert path.random_sd[300] == pytest.approx(np.sqrt(2.0) * 0.5198, rel=0.01)


def test_a_body_that_tips_to_its_front_moves_to_the_front() -> None:
    t = even_times(4.0)
    xy = place_joints(t, heading_deg=-90.0, turn=lambda time: -2.0 * time)
    course = course_of(film(t, xy))
    path = trace_point(course, landmark_of(course, "hip"), base="hand", px_per_unit=6.0, unit="cm")
    # The line from the feet to the head turns clockwise: the feet go to the left, and with the
    # left side near and the head down the front is to the right.
    front = course.body.get("hip")[:, 0] - course.body.get("hand")[:, 0]
    assert path.front == pytest.approx(front / 6.0)


def test_the_centre_of_mass_sways_less_than_the_feet_and_more_than_the_shoulders() -> None:
    t = even_times(12.0)
    course = course_of(film(t, handstand(t, 2.0)), cutoff_hz=4.0)
    parts = SEGMENTS.tables["winter-2009"].build_parts("winter-2009")
    place = mass_centre_of(
        NAMES,
        parts,
        trunk_fraction=0.36,
        lengths_px=lengths_of_stature(SEGMENTS.link_fractions(), np.array(6.0 * 135.0)),
    )
    ranges = [
        sway_of(trace_point(course, one, base="hand", px_per_unit=6.0, unit="cm")).range
        for one in (landmark_of(course, "shoulder"), place, landmark_of(course, "malleolus"))
    ]
    assert ranges == sorted(ranges)
    assert 1.3 * ranges[0] < ranges[1] < 0.7 * ranges[2]
