"""The search: tiles that cover, the gate, several people, and giving up."""

import itertools
from collections.abc import Mapping
from typing import ClassVar

import numpy as np
import pytest
from fake_nets import UPRIGHT, BlobDetector, ScriptedLandmarker, mirrored, raw_pose

from chordline.adapters.pose.estimator import BlazePoseEstimator
from chordline.adapters.pose.finder import Finder, sight, tile
from chordline.adapters.pose.networks import RawPose
from chordline.adapters.pose.roi import Pyramid, Roi

BLACK = np.zeros((300, 400, 3), np.uint8)
MIRRORED = mirrored(UPRIGHT)


def steady(asked: int) -> RawPose:
    """First look, then straight and mirrored in turn, of one body."""
    return (
        raw_pose(MIRRORED, left_near=False) if asked > 1 and asked % 2 == 0 else raw_pose(UPRIGHT)
    )


def contradicting(asked: int) -> RawPose:
    """The body stays where it is in the cut when the cut is mirrored: nothing real does."""
    skewed = {i: (x + (0 if i > 32 else 40), y) for i, (x, y) in UPRIGHT.items()}
    return raw_pose(skewed)


@pytest.mark.parametrize("share", [1.0, 0.75, 0.5, 0.3])
@pytest.mark.parametrize("size", [(400, 300), (300, 400), (1600, 900), (500, 500)])
def test_tiles_cover_the_picture_and_overlap_by_half(size: tuple[int, int], share: float) -> None:
    width, height = size
    views = list(tile(width, height, share, 0.0))
    side = share * max(width, height)
    for axis, extent in ((0, width), (1, height)):
        starts = sorted({(v.x_px, v.y_px)[axis] + 0.5 - side / 2 for v in views})
        assert starts[0] <= 1e-6
        assert starts[-1] + side >= extent - 1e-6
        assert all(b - a <= side / 2 + 1e-6 for a, b in itertools.pairwise(starts))


def test_a_body_that_agrees_with_its_mirror_image_is_seen() -> None:
    found = sight(ScriptedLandmarker(steady), Pyramid(BLACK), Roi(200, 150, 256))
    assert found is not None
    assert found.disagreement_pct == pytest.approx(0.0, abs=0.1)


def test_a_body_that_contradicts_its_mirror_image_is_not() -> None:
    assert sight(ScriptedLandmarker(contradicting), Pyramid(BLACK), Roi(200, 150, 256)) is None


def test_nobody_is_seen_where_the_network_says_so_and_it_is_asked_once() -> None:
    network = ScriptedLandmarker(lambda _: raw_pose(UPRIGHT, presence=0.01))
    assert sight(network, Pyramid(BLACK), Roi(200, 150, 256)) is None
    assert network.asked == 1


def test_a_region_that_wanders_for_ever_is_given_up() -> None:
    away = UPRIGHT | {33: (228, 128), 34: (228, 26)}
    network = ScriptedLandmarker(lambda _: raw_pose(away))
    assert sight(network, Pyramid(BLACK), Roi(200, 150, 256)) is None
    assert network.asked < 8


def test_an_empty_picture_ends_with_nobody() -> None:
    network = ScriptedLandmarker(steady)
    finder = Finder(BlobDetector(), network, network)
    assert finder.find(Pyramid(BLACK)) == ()
    assert network.asked == 0


def test_two_people_are_two_sightings() -> None:
    rgb = np.zeros((600, 1600, 3), np.uint8)
    rgb[260:340, 300:380] = 255
    rgb[260:340, 1200:1280] = 255

    class Follows:
        """Sees an upright body in whatever it is shown."""

        regression_share: ClassVar[Mapping[str, float]] = {}

        def __init__(self) -> None:
            self.straight = False
            self.asked = 0

        def locate(self, cut):
            self.asked += 1
            phase = (self.asked - 1) % 3
            return raw_pose(MIRRORED, left_near=False) if phase == 2 else raw_pose(UPRIGHT)

    people = Finder(BlobDetector(), Follows(), Follows()).find(Pyramid(rgb))
    assert len(people) >= 2
    hips = sorted(one.hips_px[0] for one in people)
    assert hips[0] == pytest.approx(340, abs=60)
    assert hips[-1] == pytest.approx(1240, abs=60)


def test_the_estimator_returns_named_landmarks_a_mask_and_its_model() -> None:
    rgb = np.zeros((600, 600, 3), np.uint8)
    rgb[260:340, 260:340] = 255
    scout = ScriptedLandmarker(steady)
    network = ScriptedLandmarker(
        lambda asked: raw_pose(MIRRORED, left_near=False) if asked % 2 else raw_pose(UPRIGHT)
    )
    poses = BlazePoseEstimator(Finder(BlobDetector(), scout, network), network, model="stand-in")
    (body,) = poses.find(rgb)
    assert poses.model == "stand-in"
    assert body.xy_px.shape == (10, 2)
    assert body.sides_xy_px.shape == (2, 10, 2)
    assert body.near_side == "left"
    assert body.sides_xy_px[0] == pytest.approx(body.xy_px)
    assert (body.sd_px > 0).all()
    assert body.mask is not None
    assert body.mask.alpha.shape[0] == body.mask.alpha.shape[1]


def test_the_estimator_gives_up_where_the_exact_network_contradicts_itself() -> None:
    rgb = np.zeros((600, 600, 3), np.uint8)
    rgb[260:340, 260:340] = 255
    network = ScriptedLandmarker(contradicting)
    finder = Finder(BlobDetector(), ScriptedLandmarker(steady), network)
    assert BlazePoseEstimator(finder, network, model="stand-in").find(rgb) == ()
