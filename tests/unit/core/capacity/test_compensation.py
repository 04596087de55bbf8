"""What counts as a change of the body between two tests."""

import numpy as np
import pytest

from chordline.core.capacity.compensation import Compensation, find_compensations
from chordline.core.capacity.observed import Observed

HIP, KNEE = "hip_opening_deg", "knee_opening_deg"
SD, REPEAT = 2.0, 1.5
#: One change of two takes with these errors [deg].
CHANGE_SD = float(np.sqrt(2.0 * SD**2 + 2.0 * REPEAT**2))


def take(test: str, hip: float, knee: float = 0.0) -> Observed:
    return Observed(f"{test}.jpg", test, (HIP, KNEE), np.array([hip, knee]), SD**2 * np.eye(2))


def changes(
    hip_test: float, hip_base: float, *, watched: tuple[str, ...] = (HIP, KNEE)
) -> tuple[Compensation, ...]:
    return find_compensations(
        take("prone-active", hip_test),
        take("prone-raised", hip_base),
        watched=watched,
        repeat_sd={HIP: REPEAT, KNEE: REPEAT},
        confidence=0.95,
    )


def test_a_change_just_beyond_error_is_called_and_one_just_within_is_not() -> None:
    assert [one.measure for one in changes(1.97 * CHANGE_SD, 0.0)] == [HIP]
    assert changes(1.95 * CHANGE_SD, 0.0) == ()


def test_a_change_says_which_way_how_sure_and_between_which_photos() -> None:
    [one] = changes(-20.0, -5.0)
    assert one.change == pytest.approx(-15.0)
    assert one.sd == pytest.approx(CHANGE_SD)
    assert (one.test_source, one.base_source) == ("prone-active.jpg", "prone-raised.jpg")


def test_only_watched_measures_that_both_photos_have_are_compared() -> None:
    assert changes(30.0, 0.0, watched=(KNEE,)) == ()
    assert changes(30.0, 0.0, watched=("seam_hollow_deg",)) == ()


def test_what_is_no_number_is_no_change() -> None:
    assert changes(np.nan, 0.0) == ()


def false_alarms(*, noise: float, draws: int = 4_000) -> float:
    """Share of watched measures that are called although the body did not change."""
    rng = np.random.default_rng(20)
    sd = noise * float(np.hypot(SD, REPEAT))
    called = 0
    for test, base in rng.normal(0.0, sd, (draws, 2)):
        called += len(changes(test, base, watched=(HIP,)))
    return called / draws


def test_one_change_in_twenty_is_called_by_chance() -> None:
    assert 0.04 <= false_alarms(noise=1.0) <= 0.06


def test_more_noise_than_told_calls_more() -> None:
    assert false_alarms(noise=1.5) > 0.1
