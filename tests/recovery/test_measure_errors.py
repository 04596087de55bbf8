"""Known bodies, seeded noise: does every measure err as much as it says?

The truth is a stick body of about 1,000 px with the curves of its trunk; each mark is moved by
Gaussian noise. Checked: the sd of every measure against the spread of 10,000 noisy bodies, the
share of 95 % intervals that hold the truth, and, as negative controls, that errors of half the size
are found out.
"""

from functools import cache

import numpy as np
import pytest

from chordline.conventions import curve_of
from chordline.core.body.measures import ALL_MEASURES, compute_measures
from chordline.core.body.points import BodyPoints
from chordline.core.body.reading import read_body
from chordline.core.geometry.plane import PlaneFrame
from stick_body import VIEWS, Place, along, see, with_places

DRAWS = 10_000
#: An sd from 10,000 draws is itself off by 0.7 %; 3 % is four of those.
TOLERANCE = 0.03
FLOOR = PlaneFrame(np.array([0.0, -1.0]), m_per_px=0.01 / 6.0, floor_px=np.array([0.0, 720.0]))


def trunk(
    back: float, seam: float, *, back_marks: int = 7, seam_marks: int = 6
) -> dict[str, Place]:
    """Outlines and seam bulging towards the belly by so many centimetres; 0 is straight."""

    def marks(count: int, behind: float, bulge: float) -> list[Place]:
        shares = np.linspace(0.0, 1.0, count)
        front = behind + 4.0 * bulge * shares * (1.0 - shares)
        return list(zip(front.tolist(), (74.0 + 42.0 * shares).tolist(), strict=True))

    return {
        **along("back", marks(back_marks, -10.0, back)),
        **along("seam", marks(seam_marks, 0.0, seam)),
        **along("belly", marks(8, 9.0, seam)),
    }


def body(view: str, curves: dict[str, Place], **moved: Place) -> BodyPoints:
    return see(with_places(**moved, **curves), VIEWS[view], px_per_cm=6.0, frame=FLOOR)


BODIES = {
    "straight to the millimetre": body("prone, head right", trunk(0.0, 0.0)),
    "nearly straight": body(
        "prone, head left", trunk(1.0, 0.4), hip=(0.7, 72), knee=(-0.4, 35), ear=(1, 130)
    ),
    "closed shoulders": body(
        "prone, head left",
        trunk(2.0, 1.0, back_marks=6, seam_marks=8),
        elbow=(8, 135),
        wrist=(15, 152),
        hand=(18, 161),
        ear=(4, 129),
    ),
    "dish": body(
        "supine, head right",
        trunk(-4.0, -2.0, back_marks=8),
        malleolus=(28, 8),
        knee=(14, 38),
        shoulder=(3, 114),
        elbow=(7, 135),
        wrist=(11, 154),
        hand=(13, 164),
        ear=(9, 127),
    ),
    "arched handstand": body(
        "upside-down, belly right",
        trunk(5.0, 2.5),
        malleolus=(-4, 0),
        hip=(4, 72),
        shoulder=(5, 115),
        ear=(-3, 130),
    ),
    "arms beside the body": body(
        "supine, head left",
        trunk(3.0, -1.0),
        elbow=(0, 93),
        wrist=(-1, 74),
        hand=(-1, 65),
        knee=(3, 35),
    ),
}
SDS_PX = (1.0, 3.0, 8.0)


@cache
def spread_of_noisy_bodies(name: str, sd_px: float) -> dict[str, float]:
    truth = BODIES[name]
    rng = np.random.default_rng(71)
    noise = rng.normal(0.0, sd_px, (DRAWS, *truth.xy_px.shape[1:]))
    values = compute_measures(truth.with_xy(truth.xy_px + noise), ALL_MEASURES)
    assert np.isfinite(values).all()
    return dict(zip(ALL_MEASURES, values.std(axis=0).tolist(), strict=True))


def off_by_more_than_tolerance(
    name: str, sd_px: float, *, claimed: float = 1.0
) -> dict[str, float]:
    """Measures whose sd differs from the spread, with the ratio; `claimed` scales what we say."""
    truth = BODIES[name]
    said = read_body(truth, np.full(len(truth.names), claimed * sd_px), ALL_MEASURES).sd
    spread = spread_of_noisy_bodies(name, sd_px)
    assert set(said) == set(spread)
    ratios = {measure: said[measure] / spread[measure] for measure in said}
    return {measure: r for measure, r in ratios.items() if abs(r - 1.0) > TOLERANCE}


@pytest.mark.parametrize("sd_px", SDS_PX)
@pytest.mark.parametrize("name", BODIES)
def test_every_measure_errs_as_much_as_it_says(name: str, sd_px: float) -> None:
    assert off_by_more_than_tolerance(name, sd_px) == {}


@pytest.mark.parametrize("name", BODIES)
def test_landmarks_said_to_be_twice_as_sure_are_found_out(name: str) -> None:
    found_out = off_by_more_than_tolerance(name, 3.0, claimed=0.5)
    assert set(found_out) == set(ALL_MEASURES)


def test_measures_err_together_as_much_as_they_say() -> None:
    truth, sd_px = BODIES["closed shoulders"], 4.0
    rng = np.random.default_rng(5)
    noise = rng.normal(0.0, sd_px, (DRAWS, *truth.xy_px.shape[1:]))
    values = compute_measures(truth.with_xy(truth.xy_px + noise), ALL_MEASURES)
    said = read_body(truth, np.full(len(truth.names), sd_px), ALL_MEASURES).covariance
    scale = np.sqrt(np.diag(said))
    # A correlation from 10,000 draws is off by at most 0.010; three and a half of those.
    assert said / np.outer(scale, scale) == pytest.approx(np.corrcoef(values.T), abs=0.035)


COVERED = (
    "shoulder_opening_deg",
    "hip_opening_deg",
    "knee_opening_deg",
    "bow_knee_pct",
    "bow_hip_pct",
    "bow_shoulder_pct",
    "bow_max_pct",
)
#: Bodies whose largest bow is clear; where two bows compete for it, it has no one truth to cover.
CLEAR_BOWS = ("closed shoulders", "dish")


def share_of_intervals_that_hold(
    name: str, sd_px: float, *, claimed: float = 1.0, draws: int = 2000
) -> np.ndarray:
    whole = BODIES[name]
    kept = [name for name in whole.names if curve_of(name) is None]
    truth = BodyPoints(
        tuple(kept), whole.stack(tuple(kept)), whole.facing, whole.chord, whole.frame
    )
    exact = compute_measures(truth, COVERED)[0]
    said_sd = np.full(len(kept), claimed * sd_px)
    rng = np.random.default_rng(33)
    held = np.zeros(len(COVERED))
    for _ in range(draws):
        noisy = truth.with_xy(truth.xy_px + rng.normal(0.0, sd_px, truth.xy_px.shape))
        reading = read_body(noisy, said_sd, COVERED)
        held += np.abs(reading.values - exact) < 1.96 * np.array(list(reading.sd.values()))
    return held / draws


@pytest.mark.parametrize("name", CLEAR_BOWS)
def test_ninety_five_in_a_hundred_intervals_hold_the_truth(name: str) -> None:
    held = share_of_intervals_that_hold(name, 4.0)
    assert ((held >= 0.93) & (held <= 0.97)).all(), dict(zip(COVERED, held, strict=True))


def test_intervals_of_half_the_width_are_found_out() -> None:
    held = share_of_intervals_that_hold("dish", 4.0, claimed=0.5, draws=500)
    assert (held < 0.80).all(), dict(zip(COVERED, held, strict=True))
