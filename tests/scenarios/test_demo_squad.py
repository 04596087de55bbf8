"""The six demo gymnasts, marked by hand: each story is found. Common practice, no source.

The stories are those that the pictures were rendered from; the marks are the true pixels of the
near side, moved by 3 px. The trunk's arch of gymnast 16 does not show in joints at all: her seam is
built from the true arch (20° on the hands and on the back) on top of the natural turn that the
model reckons with in an aligned gymnast, and marked with 2 px.
"""

from collections.abc import Iterator
from functools import cache

import numpy as np
import pytest

from chordline.application import viewpoint
from chordline.application.find_limits import ScreenInput
from chordline.application.findings import Findings
from chordline.core.body.measurement import Measurement
from chordline.core.body.verdict import Verdict
from chordline.core.geometry.camera import Camera, CardPose
from screen_stories import CATALOGUE, FIND, photo, share_of_draws
from squad_photos import photos_of

pytestmark = pytest.mark.slow

SEEDS = range(3)
HIP_OR_PELVIS = {"hip_extension_deg", "pelvic_tuck_deg"}
#: Rendered arch of gymnast 16.
ARCH_DEG = 20.0
ARCHED_TESTS = ("handstand", "supine-sides", "supine-overhead")
ARCHED = {
    test: ARCH_DEG + CATALOGUE.model[test]["seam_hollow_deg"].intercept for test in ARCHED_TESTS
}


@pytest.fixture(scope="module", autouse=True)
def cards_located_once() -> Iterator[None]:
    """Let all draws of a picture share where its card stands: only the marks are drawn."""
    locate = viewpoint.locate_card
    known: dict[tuple[object, ...], CardPose] = {}

    def look_up(camera: Camera, corners_px: np.ndarray, **options: float) -> CardPose:
        lens = (camera.focal_px, camera.focal_rel_sd, camera.centre_px.tobytes())
        key = (lens, corners_px.tobytes(), *sorted(options.items()))
        if key not in known:
            known[key] = locate(camera, corners_px, **options)
        return known[key]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(viewpoint, "locate_card", look_up)
        yield


def find(gymnast: int, measurements: tuple[Measurement, ...]) -> Findings:
    return FIND(ScreenInput(f"gymnast {gymnast}", gymnast, "demo", measurements))


@cache
def found(gymnast: int, seed: int) -> Findings:
    return find(gymnast, photos_of(gymnast, seed=seed))


@cache
def photos_with_seam(seed: int) -> tuple[Measurement, ...]:
    return photos_of(16, seed=seed, seam_turn_deg=ARCHED)


@cache
def found_with_seam(seed: int, *, braced: bool = False) -> Findings:
    measurements = photos_with_seam(seed)
    if braced:
        measurements = (*measurements, photo("supine-braced", {"hip": 0.0, "seam": 4.0}))
    return find(16, measurements)


def names(one: Findings) -> list[str]:
    return [limiter.capacity for limiter in one.limiters]


@pytest.mark.parametrize("seed", SEEDS)
def test_every_photo_is_used_and_none_contradicts_another(seed: int) -> None:
    for gymnast in range(11, 17):
        assert found(gymnast, seed).not_used == ()
        assert found(gymnast, seed).faults == ()


@pytest.mark.parametrize("seed", SEEDS)
def test_11_aligned_has_no_limiter(seed: int) -> None:
    assert names(found(11, seed)) == []


@pytest.mark.parametrize("seed", SEEDS)
def test_12_hips_off_the_floor_is_hip_flexors_or_pelvis_until_she_braces(seed: int) -> None:
    assert names(found(12, seed)) == []
    [pair] = [one for one in found(12, seed).undecided if len(one.capacities) > 1]
    assert pair.capacities == ("hip_extension_deg", "pelvic_tuck_deg")
    assert pair.ask_test == "supine-braced"
    offer = found(12, seed).next_test
    assert offer is not None
    assert offer.test == "supine-braced"


@pytest.mark.parametrize("seed", SEEDS)
def test_12_bracing_with_a_marked_seam_decides_for_the_hip_flexors(seed: int) -> None:
    seam = {"supine-sides": 22.0 + 8.0}
    braced = photo("supine-braced", {"hip": 0.0, "seam": 20.0})
    one = find(12, (*photos_of(12, seed=seed, seam_turn_deg=seam), braced))
    assert names(one) == ["hip_extension_deg"]


@pytest.mark.parametrize("seed", SEEDS)
def test_13_passive_shoulders_come_first(seed: int) -> None:
    assert names(found(13, seed)) == ["shoulder_flexion_deg"]


@pytest.mark.parametrize("seed", SEEDS)
def test_14_active_flexibility_comes_first(seed: int) -> None:
    assert names(found(14, seed)) == ["shoulder_active_lag_deg"]


def opening_is_seen(*, seed: int, mark_sd_px: float) -> bool:
    two = photos_of(14, seed=seed, tests=("prone-raised", "prone-active"), mark_sd_px=mark_sd_px)
    seen = [(change.test, change.measure) for change, _ in find(14, two).compensations]
    return ("prone-active", "hip_opening_deg") in seen


def test_14_the_body_that_opens_as_she_lifts_is_seen() -> None:
    """12° truly; 3 px marks alone spread the change by 3.4°, so that some draws fall below."""
    careful = [opening_is_seen(seed=seed, mark_sd_px=1.5) for seed in range(10)]
    usual = [opening_is_seen(seed=seed, mark_sd_px=3.0) for seed in range(10)]
    assert share_of_draws(careful) >= 0.9
    assert share_of_draws(usual) >= 0.6


@pytest.mark.parametrize("seed", SEEDS)
def test_15_shoulders_are_named_and_the_hips_stay_open(seed: int) -> None:
    assert names(found(15, seed)) == ["shoulder_flexion_deg"]
    assert HIP_OR_PELVIS in [set(one.capacities) for one in found(15, seed).undecided]


@pytest.mark.parametrize("seed", SEEDS)
def test_16_joints_alone_give_no_name_for_an_arched_back(seed: int) -> None:
    assert names(found(16, seed)) == []


@pytest.mark.parametrize("seed", SEEDS)
def test_16_joints_alone_do_not_clear_the_pelvis_either(seed: int) -> None:
    pelvis = next(one for one in found(16, seed).capacities if one.name == "pelvic_tuck_deg")
    assert pelvis.verdict is Verdict.CANNOT_TELL
    assert pelvis.words == "these tests tell too little"


@pytest.mark.parametrize("seed", SEEDS)
def test_16_a_marked_seam_points_at_the_pelvis_and_nothing_else(seed: int) -> None:
    one = found_with_seam(seed)
    pelvis_only = [{"pelvic_tuck_deg"}]
    if names(one):
        assert names(one) == ["pelvic_tuck_deg"]
    else:
        assert [set(each.capacities) for each in one.undecided] == pelvis_only
        assert one.undecided[0].ask_test == "supine-braced"


def test_16_a_marked_seam_names_the_pelvis_in_most_draws() -> None:
    assert share_of_draws(names(found_with_seam(seed)) != [] for seed in SEEDS) >= 0.6


@pytest.mark.parametrize("seed", SEEDS)
def test_16_bracing_away_the_arch_names_the_pelvis(seed: int) -> None:
    assert names(found_with_seam(seed, braced=True)) == ["pelvic_tuck_deg"]


def test_nobody_elses_body_changes_beyond_error() -> None:
    changes = [
        (gymnast, change.test, change.measure)
        for gymnast in (11, 12, 13, 15)
        for seed in SEEDS
        for change, _ in found(gymnast, seed).compensations
    ]
    assert len(changes) <= 0.05 * len(SEEDS) * 4 * 12
