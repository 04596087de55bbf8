"""Following one body: the nets see bright squares, each the hips of an upright body."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import ClassVar

import numpy as np
import pytest
from fake_nets import UPRIGHT, BlobDetector, mirrored, raw_pose
from numpy.typing import NDArray

from chordline.adapters.pose.finder import Finder
from chordline.adapters.pose.networks import RawPose
from chordline.adapters.pose.tracking import BlazePoseTracker
from chordline.application.video_ports import VideoFrame
from chordline.conventions import LANDMARKS
from chordline.core.body.found import FoundBody
from chordline.core.body.track import Track, join_tracks
from chordline.errors import BodyNotFoundError

HIP = LANDMARKS.index("hip")
SIZE = (480, 640)
At = tuple[float, float]


@dataclass
class SquareLandmarker:
    """Sees a body around the bright square nearest to the middle of the cut.

    A grey stripe stands to the right of each square: it tells a mirrored cut. A square that is not
    quite white is a body whose answers contradict themselves when mirrored.
    """

    regression_share: ClassVar[Mapping[str, float]] = MappingProxyType({})
    asked: int = 0
    was_mirrored: list[bool] = field(default_factory=list)

    def locate(self, cut: NDArray[np.uint8]) -> RawPose:
        self.asked += 1
        y, x = np.nonzero(cut[..., 0] > 150)
        if len(x) < 40:
            return raw_pose(UPRIGHT, presence=0.01)
        near = np.argmin(np.hypot(x - 128, y - 128))
        mine = np.hypot(x - x[near], y - y[near]) < 40
        middle = np.array([x[mine].mean(), y[mine].mean()])
        stripe_y, stripe_x = np.nonzero((cut[..., 0] > 60) & (cut[..., 0] < 120))
        beside = np.abs(stripe_y - middle[1]) < 30
        is_mirrored = bool(beside.any() and stripe_x[beside].mean() < middle[0])
        self.was_mirrored.append(is_mirrored)
        lies = cut[int(middle[1]), int(middle[0]), 0] < 230
        points = {i: (px, py) for i, (px, py) in UPRIGHT.items()}
        if is_mirrored and not lies:
            points = mirrored(points)
        elif is_mirrored:
            points = {i: (px + (0 if i > 32 else 60), py) for i, (px, py) in points.items()}
        shift = middle - 128.0
        moved = {i: (px + shift[0], py + shift[1]) for i, (px, py) in points.items()}
        return raw_pose(moved, left_near=not is_mirrored)


def frame_of(*squares: At, value: int = 255, side: int = 24) -> NDArray[np.uint8]:
    rgb = np.zeros((*SIZE, 3), np.uint8)
    for x, y in squares:
        half = side // 2
        top, left = int(y) - half, int(x) - half
        rgb[max(0, top) : top + side, max(0, left) : left + side] = value
        rgb[max(0, top) : top + side, left + side + 4 : left + side + 10] = 90
    return rgb


def clip(pictures: Sequence[NDArray[np.uint8]], rate_hz: float = 30.0) -> Iterator[VideoFrame]:
    return (VideoFrame(i / rate_hz, rgb) for i, rgb in enumerate(pictures))


def tracker_of(network: SquareLandmarker) -> BlazePoseTracker:
    detector = BlobDetector(least_px=4)
    return BlazePoseTracker(Finder(detector, network, network), detector, network, model="fake")


def longest(bodies: Sequence[FoundBody]) -> FoundBody:
    return bodies[0]


def follow(
    pictures: Sequence[NDArray[np.uint8]],
    network: SquareLandmarker | None = None,
    choose: Callable[[Sequence[FoundBody]], FoundBody] = longest,
) -> Track:
    tracker = tracker_of(network or SquareLandmarker())
    return join_tracks(list(tracker.follow(clip(pictures), choose)))


def hips(track: Track) -> np.ndarray:
    return track.sides_xy_px[:, :, HIP].mean(axis=1)


def test_a_body_that_moves_is_followed_in_every_frame() -> None:
    places = [(200.0 + 3.0 * i, 240.0) for i in range(60)]
    track = follow([frame_of(at) for at in places])
    assert track.seen.all()
    # The network's hips stand half a pixel off the square's middle.
    np.testing.assert_allclose(hips(track)[:, 0], [x for x, _ in places], atol=4.0)


def test_each_frame_costs_one_look_and_looks_are_mirrored_by_turns() -> None:
    network = SquareLandmarker()
    track = follow([frame_of((320.0, 240.0))] * 10, network)
    first = network.asked
    network = SquareLandmarker()
    track = follow([frame_of((320.0, 240.0))] * 130, network)
    assert track.seen.all()
    # One of fifteen is looked at both ways.
    assert network.asked - first <= 120 * 17 / 15 + 1
    assert 0.4 < np.mean(network.was_mirrored) < 0.6


def test_who_was_gone_for_a_while_is_found_again() -> None:
    here, gone = frame_of((320.0, 240.0)), frame_of()
    track = follow([here] * 20 + [gone] * 15 + [here] * 30)
    assert track.seen[:20].all()
    assert not track.seen[20:35].any()
    assert track.seen[44:].all()


def test_somebody_far_away_does_not_take_over() -> None:
    her, other = (150.0, 240.0), (520.0, 240.0)
    pictures = [frame_of(her)] * 20 + [frame_of(other)] * 50 + [frame_of(her, other)] * 20
    track = follow(pictures)
    seen = track.seen
    assert not seen[20:70].any()
    assert seen[80:].all()
    assert (np.abs(hips(track)[seen, 0] - her[0]) < 10.0).all()


def test_who_was_gone_for_long_is_chosen_anew_wherever_she_is() -> None:
    here, gone, there = frame_of((150.0, 240.0)), frame_of(), frame_of((520.0, 240.0))
    track = follow([here] * 10 + [gone] * 150 + [there] * 60)
    assert not track.seen[10:160].any()
    assert track.seen[200:].all()


def test_who_walks_through_does_not_take_over() -> None:
    her = (320.0, 240.0)
    pictures = [frame_of(her)] * 10
    pictures += [frame_of((20.0 + 12.0 * i, 180.0), her) for i in range(50)]
    track = follow(pictures)
    seen = track.seen
    assert seen[-1]
    assert (np.hypot(*(hips(track)[seen] - her).T) < 80.0).all()
    np.testing.assert_allclose(hips(track)[-1], her, atol=6.0)


def test_answers_that_contradict_their_mirror_image_are_not_believed() -> None:
    honest, lying = frame_of((320.0, 240.0)), frame_of((320.0, 240.0), value=200)
    track = follow([honest] * 10 + [lying] * 10 + [honest] * 20)
    assert track.seen[:10].all()
    assert not track.seen[12:20].any()
    assert track.seen[-1]


def test_a_run_that_was_stopped_goes_on_with_the_same_body() -> None:
    pictures = [frame_of((200.0 + 2.0 * i, 240.0)) for i in range(40)]
    whole = follow(pictures)
    tracker = tracker_of(SquareLandmarker())
    frames = list(clip(pictures))
    before = join_tracks(list(tracker.follow(frames[:20], longest)))
    network = SquareLandmarker()
    after = join_tracks(list(tracker_of(network).follow(frames[20:], longest, after=before)))
    assert after.seen.all()
    np.testing.assert_allclose(hips(after), hips(whole)[20:], atol=2.0)
    # Nobody is searched for again: about one look a frame.
    assert network.asked < 30


def test_of_several_people_the_caller_chooses() -> None:
    left, right = (150.0, 240.0), (500.0, 240.0)

    def rightmost(bodies: Sequence[FoundBody]) -> FoundBody:
        assert len(bodies) == 2
        return max(bodies, key=lambda body: float(body.xy_px[HIP, 0]))

    track = follow([frame_of(left, right)] * 8, choose=rightmost)
    assert (np.abs(hips(track)[:, 0] - right[0]) < 10.0).all()


def test_where_nobody_stands_out_in_any_frame_it_is_said() -> None:
    def nobody(bodies: Sequence[FoundBody]) -> FoundBody:
        raise BodyNotFoundError("2 people were found and none stands out")

    with pytest.raises(BodyNotFoundError, match="none stands out"):
        follow([frame_of((150.0, 240.0), (500.0, 240.0))] * 8, choose=nobody)


def test_an_empty_video_is_lost_in_every_frame_and_not_searched_in_each() -> None:
    network = SquareLandmarker()
    track = follow([frame_of()] * 60, network)
    assert not track.seen.any()
    assert network.asked == 0
