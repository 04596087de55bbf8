"""The live eye with the installed weights: follows her, loses her honestly, finds her again."""

import os
from collections.abc import Callable
from pathlib import Path

import cv2
import numpy as np
import pytest

import chordline.demo
from chordline.adapters.pose.live_eye import BlazePoseEye
from chordline.adapters.pose.weights import choose_weights
from chordline.application.choose import fits_posture
from chordline.application.live.ports import LiveBody, Lost
from chordline.application.live.reading import UP
from chordline.catalogue.loader import load_catalogue
from chordline.conventions import LANDMARKS
from chordline.errors import WeightsError

pytestmark = [pytest.mark.weights, pytest.mark.slow]

CLUB = Path(chordline.demo.__file__).parent / "club"
POSES = Path(__file__).resolve().parents[1] / "data" / "poses"
TESTS = load_catalogue().tests
STEP_S = 0.1
HIP = LANDMARKS.index("hip")


@pytest.fixture(scope="module")
def eye() -> BlazePoseEye:
    try:
        weights = choose_weights()
    except WeightsError as error:
        if os.environ.get("CHORDLINE_REQUIRE_WEIGHTS") == "1":
            pytest.fail(str(error))
        pytest.skip(str(error))
    return BlazePoseEye.from_weights(weights, let_go_s=1.0, forget_s=4.0, notice_s=1.5)


def scene(path: Path, width: int = 640) -> np.ndarray:
    bgr = cv2.imread(str(path))
    size = (width, round(width * bgr.shape[0] / bgr.shape[1]))
    return cv2.cvtColor(cv2.resize(bgr, size, interpolation=cv2.INTER_AREA), cv2.COLOR_BGR2RGB)


LYING = scene(CLUB / "13_prone-overhead.jpg")
UPSIDE_DOWN = scene(CLUB / "13_handstand.jpg")
STANDING = scene(POSES / "standing__boy11_yaw00_d3_h04_L.jpg")
EMPTY = np.full_like(LYING, 180)


def watched(
    eye: BlazePoseEye, frames: list[np.ndarray], test: str = "prone-overhead"
) -> list[LiveBody | Lost]:
    watch = eye.watch()
    fits: Callable[[np.ndarray], bool] = lambda up: fits_posture(up, UP, TESTS[test])  # noqa: E731
    return [watch.see(rgb, at_s=i * STEP_S, fits=fits) for i, rgb in enumerate(frames)]


def with_walker(at_px: int) -> np.ndarray:
    """The lying girl with somebody in front of her: a standing boy cut out of his picture."""
    rgb = LYING.copy()
    strip = STANDING[:, 200:440]
    left = max(0, at_px)
    right = min(rgb.shape[1], at_px + strip.shape[1])
    rgb[:, left:right] = strip[:, left - at_px : right - at_px]
    return rgb


@pytest.mark.parametrize(
    ("picture", "test"), [(LYING, "prone-overhead"), (UPSIDE_DOWN, "handstand")]
)
def test_she_is_found_within_half_a_second_and_followed(
    eye: BlazePoseEye, picture: np.ndarray, test: str
) -> None:
    seen = watched(eye, [picture] * 15, test)
    assert all(isinstance(one, LiveBody) for one in seen[5:])
    hips = np.array([one.xy_px[HIP] for one in seen[5:] if isinstance(one, LiveBody)])
    assert hips.std(axis=0).max() < 3.0


def test_who_stands_is_not_taken_for_a_lying_test(eye: BlazePoseEye) -> None:
    seen = watched(eye, [STANDING] * 12)
    assert set(seen) <= {"nobody", "not-in-position"}
    assert seen[-1] == "not-in-position"


def test_an_empty_mat_is_nobody(eye: BlazePoseEye) -> None:
    assert set(watched(eye, [EMPTY] * 8)) == {"nobody"}


def test_who_walks_through_is_never_taken_for_her(eye: BlazePoseEye) -> None:
    walk = [with_walker(at_px) for at_px in range(-240, 641, 60)]
    frames = [*[LYING] * 10, *walk, *[LYING] * 15]
    seen = watched(eye, frames)
    before = seen[9]
    assert isinstance(before, LiveBody)
    length = np.linalg.norm(before.xy_px[0] - before.xy_px[HIP])
    for one in seen[10:]:
        if isinstance(one, LiveBody):
            assert np.linalg.norm(one.xy_px[HIP] - before.xy_px[HIP]) < 0.35 * length
    assert all(isinstance(one, LiveBody) for one in seen[-5:])
    assert any(isinstance(one, str) for one in seen[10 : 10 + len(walk)])


def test_she_leaves_and_another_is_taken_after_a_while(eye: BlazePoseEye) -> None:
    other = np.ascontiguousarray(LYING[:, ::-1])
    seen = watched(eye, [*[LYING] * 8, *[EMPTY] * 45, *[other] * 10])
    assert seen[10] == "hidden"
    assert seen[51] == "nobody"
    assert isinstance(seen[-1], LiveBody)


def test_who_comes_down_from_the_handstand_is_let_go(eye: BlazePoseEye) -> None:
    seen = watched(eye, [*[UPSIDE_DOWN] * 8, *[STANDING] * 60], "handstand")
    assert isinstance(seen[7], LiveBody)
    assert isinstance(seen[-1], str)


def test_a_frame_with_nobody_is_answered_like_any_other(eye: BlazePoseEye) -> None:
    """Not a speed test: a search of the whole picture, as for photos, takes ten frames' work."""
    calls = 0
    detect = eye.detector.detect

    class Counting:
        def detect(self, cut: np.ndarray) -> object:
            nonlocal calls
            calls += 1
            return detect(cut)

    watch = eye.watch()
    eye.detector, kept = Counting(), eye.detector  # type: ignore[assignment]
    try:
        for i in range(8):
            before = calls
            watch.see(EMPTY, at_s=i * STEP_S, fits=lambda up: True)
            assert calls - before <= 4
    finally:
        eye.detector = kept
    assert calls >= 16
