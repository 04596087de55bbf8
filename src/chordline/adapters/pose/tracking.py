"""Follows one body through the frames of a video: one look a frame, gated by mirrored looks."""

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from chordline.adapters.pose.detection import detect_in
from chordline.adapters.pose.facing import guess_near_side, name_sides, weigh_sides
from chordline.adapters.pose.finder import MIRROR_GATE_PCT, Finder, Sighting, sight
from chordline.adapters.pose.fusion import fuse, mirror_disagreement_pct
from chordline.adapters.pose.identity import Whereabouts, is_in_her_place, is_she, stays
from chordline.adapters.pose.networks import (
    Detector,
    Landmarker,
    RawPose,
    TfliteDetector,
    TfliteLandmarker,
)
from chordline.adapters.pose.passes import Pass, length_of, look
from chordline.adapters.pose.roi import Pyramid, Roi
from chordline.adapters.pose.track_pieces import PieceBuilder, Seen, whereabouts_of
from chordline.adapters.pose.weights import ChosenWeights
from chordline.application.video_ports import ChooseBody, VideoFrame
from chordline.conventions import SIDES
from chordline.core.body.found import FoundBody
from chordline.core.body.track import Track
from chordline.errors import BodyNotFoundError

#: Below this the landmark network says that nobody is there.
_ABSENT: Final = 0.2
_MIN_LENGTH_PX: Final = 48.0
#: Frames between two looks that are mirrored whatever they show, besides those that are by turns.
_GATE_EVERY: Final = 15
#: Frames of one piece.
PIECE_FRAMES: Final = 300
#: A search near her last place at most so often, one of the whole picture at most so often [s].
_NEAR_EVERY_S: Final = 0.2
_WIDE_EVERY_S: Final = 1.0
#: Side of the view around her last place, in lengths of her body.
_NEAR_VIEW: Final = 3.0
_THRESHOLD: Final = 0.5
#: After so long she is chosen anew, as at the beginning: she may have walked anywhere [s].
_FORGET_S: Final = 4.0
#: After so long somebody who was in her place is looked at afresh [s].
_STALE_S: Final = 0.7


class MasklessLandmarker:
    """A landmark network whose masks are not wanted: reading one costs as much as all points."""

    def __init__(self, network: Landmarker) -> None:
        self._network = network
        self._no_mask = np.zeros((1, 1), np.float32)

    @property
    def regression_share(self) -> Mapping[str, float]:
        """As of the network."""
        return self._network.regression_share

    def locate(self, cut: NDArray[np.uint8]) -> RawPose:
        """Return the network's answer without its mask."""
        return replace(self._network.locate(cut), mask=self._no_mask)


@dataclass
class _State:
    """What is carried from frame to frame."""

    roi: Roi | None = None
    last: Seen | None = None
    was: Whereabouts | None = None
    suspect: Whereabouts | None = None
    since_gate: int = 0
    number: int = 0
    near_search_s: float = -math.inf
    wide_search_s: float = -math.inf
    ambiguous: BodyNotFoundError | None = None
    ever: bool = False


class BlazePoseTracker:
    """Implements `application.video_ports.BodyTracker` with the full network.

    Parameters
    ----------
    finder : Finder
        Finds everybody in a frame, as in a photo.
    detector : Detector
        For the search around her last place.
    network : Landmarker
        One look takes half the time of a frame at 30 frames a second; the heavy one does not fit.
    model : str

    Notes
    -----
    Straight and mirrored looks take turns: each frame is looked at once, neighbouring frames check
    each other, and the low-pass filter averages the two as a photo's looks are averaged. Where
    neighbours differ by more than the gate of photos, the same frame is looked at both ways. What
    fails that, or changes place, size or direction faster than a body can, is lost, not believed.
    """

    def __init__(
        self, finder: Finder, detector: Detector, network: Landmarker, *, model: str
    ) -> None:
        self._finder = finder
        self._detector = detector
        self._network = network
        self._model = model

    @classmethod
    def from_weights(cls, weights: ChosenWeights, *, threads: int = 2) -> "BlazePoseTracker":
        """Open the scout's weights; networks of its own, so that photos can be measured beside."""
        detector = TfliteDetector(weights.detector, threads=threads)
        network = MasklessLandmarker(TfliteLandmarker(weights.scout, threads=threads))
        name = f"{weights.model.partition('-')[0]}-{weights.scout.stem.rpartition('_')[2]}"
        return cls(Finder(detector, network, network), detector, network, model=name)

    @property
    def model(self) -> str:
        """Name of the network."""
        return self._model

    def follow(
        self, frames: Iterable[VideoFrame], choose: ChooseBody, *, after: Track | None = None
    ) -> Iterator[Track]:
        """Yield the body in pieces of `PIECE_FRAMES` frames.

        Raises
        ------
        BodyNotFoundError
            When several people were found and none ever stood out.
        """
        state = _State()
        if after is not None and len(after.t_s):
            state.was = whereabouts_of(after)
            state.ever = state.was is not None
            state.number = len(after.t_s)
            if after.seen[-1]:
                state.roi = Roi(*after.region[-1].tolist())
        piece = PieceBuilder()
        for frame in frames:
            seen = self._one(frame, state, choose)
            state.number += 1
            piece.add(frame.t_s, seen)
            if len(piece) == PIECE_FRAMES:
                yield piece.done()
                piece = PieceBuilder()
        if len(piece):
            yield piece.done()
        if not state.ever and state.ambiguous is not None:
            raise state.ambiguous

    def _one(self, frame: VideoFrame, state: _State, choose: ChooseBody) -> Seen | None:
        """Return her in one frame, or None where she is lost; moves the state on."""
        picture = Pyramid(frame.rgb)
        seen = None
        if state.roi is not None:
            seen = self._follow_on(picture, state, state.roi)
        if seen is None:
            state.last = None
            found = self._search(picture, frame.t_s, state, choose)
            if found is not None:
                seen = self._both_ways(picture, found)
        if seen is None:
            state.roi = None
            return None
        state.roi, state.last, state.ever = seen.next_roi, seen, True
        state.suspect = None
        state.was = Whereabouts(frame.t_s, seen.hips_px, seen.length_px, seen.next_roi.turn_rad)
        return seen

    def _follow_on(self, picture: Pyramid, state: _State, roi: Roi) -> Seen | None:
        mirrored = state.number % 2 == 1
        shown = look(self._network, picture, roi, mirrored=mirrored)
        state.since_gate += 1
        if shown.presence < _ABSENT or shown.length_px() < _MIN_LENGTH_PX:
            return None
        if not shown.next_roi.resembles(roi):
            return None
        if state.last is not None and state.since_gate < _GATE_EVERY:
            apart = mirror_disagreement_pct(state.last.shown, shown)
            if apart <= MIRROR_GATE_PCT:
                return _seen(shown, None, apart)
        return self._checked(picture, state, shown, mirrored=mirrored, roi=roi)

    def _checked(
        self, picture: Pyramid, state: _State, shown: Pass, *, mirrored: bool, roi: Roi
    ) -> Seen | None:
        other = look(self._network, picture, roi, mirrored=not mirrored)
        apart = mirror_disagreement_pct(shown, other)
        if not apart <= MIRROR_GATE_PCT:
            return None
        state.since_gate = 0
        return _seen(shown, other, apart)

    def _both_ways(self, picture: Pyramid, one: Sighting) -> Seen | None:
        straight = look(self._network, picture, one.roi)
        mirrored = look(self._network, picture, one.roi, mirrored=True)
        apart = mirror_disagreement_pct(straight, mirrored)
        return _seen(straight, mirrored, apart) if apart <= MIRROR_GATE_PCT else None

    def _search(
        self, picture: Pyramid, t_s: float, state: _State, choose: ChooseBody
    ) -> Sighting | None:
        was = state.was
        if was is not None and t_s - state.near_search_s >= _NEAR_EVERY_S:
            state.near_search_s = t_s
            if found := _pick_her(self._near(picture, was), was, t_s, state):
                return found
        if t_s - state.wide_search_s < _WIDE_EVERY_S:
            return None
        state.wide_search_s = t_s
        people = self._finder.find(picture)
        if was is None or t_s - was.t_s > _FORGET_S:
            return self._choose(picture, people, choose, state)
        return _pick_her(people, was, t_s, state)

    def _near(self, picture: Pyramid, was: Whereabouts) -> list[Sighting]:
        """Return who is found in a view around her last place, upright and upside-down views."""
        side = _NEAR_VIEW * was.length_px
        for turn_rad in (0.0, math.pi):
            view = Roi(*was.hips_px, side, turn_rad)
            found = [
                sight(self._network, picture, one.roi)
                for one in detect_in(self._detector, picture, view, threshold=_THRESHOLD)[:3]
            ]
            if people := [one for one in found if one is not None]:
                return people
        return []

    def _choose(
        self,
        picture: Pyramid,
        people: tuple[Sighting, ...],
        choose: ChooseBody,
        state: _State,
    ) -> Sighting | None:
        """Return whom the caller takes for the gymnast; who is not told apart may be later."""
        bodies: list[tuple[FoundBody, Sighting]] = []
        for one in people:
            straight = look(self._network, picture, one.roi)
            mirrored = look(self._network, picture, one.roi, mirrored=True)
            bodies.append((_body_of(straight, mirrored), one))
        if not bodies:
            return None
        try:
            chosen = choose([body for body, _ in bodies])
        except BodyNotFoundError as error:
            state.ambiguous = error
            return None
        return next(one for body, one in bodies if body is chosen)


def _pick_her(
    people: Sequence[Sighting], was: Whereabouts, t_s: float, state: _State
) -> Sighting | None:
    """Return who can be she and is nearest to her last place.

    Who is in her place but points another way may have turned while nobody saw it, or may be
    passing in front of her: that is decided by whether she stays.
    """

    def apart(one: Sighting) -> float:
        return math.dist(one.hips_px, was.hips_px)

    where = {one: Whereabouts(t_s, one.hips_px, one.length_px, one.roi.turn_rad) for one in people}
    hers = [one for one in people if is_she(was, where[one])]
    if hers:
        return min(hers, key=apart)
    turned = min(
        (one for one in people if is_in_her_place(was, where[one])), key=apart, default=None
    )
    if turned is None:
        return None
    if state.suspect is not None and stays(state.suspect, where[turned]):
        return turned
    if state.suspect is None or t_s - state.suspect.t_s > _STALE_S:
        state.suspect = where[turned]
    return None


def _seen(shown: Pass, other: Pass | None, apart_pct: float) -> Seen:
    """Return one frame's answer: of one look, or the mean of two of the same frame."""
    evidence = weigh_sides(shown)
    sides = shown.sides_xy_px
    front, labels = evidence.front, evidence.labels
    if other is not None:
        second = weigh_sides(other)
        front, labels = 0.5 * (front + second.front), 0.5 * (labels + second.labels)
        near, _ = guess_near_side([evidence, second])
        # Left and right of both looks, so named that the same side is near in both.
        sides = 0.5 * (
            name_sides(shown, evidence.labels, near) + name_sides(other, second.labels, near)
        )
        labels = abs(labels) * (1.0 if near == SIDES[0] else -1.0)
    return Seen(
        sides_xy_px=sides,
        front=front,
        labels=labels,
        disagreement_pct=apart_pct,
        next_roi=shown.next_roi,
        shown=shown,
        length_px=length_of(sides.mean(axis=0)),
    )


def _body_of(straight: Pass, mirrored: Pass) -> FoundBody:
    fused = fuse([(straight, mirrored)])
    return FoundBody(
        xy_px=fused.xy_px,
        sd_px=fused.sd_px,
        sides_xy_px=fused.sides_xy_px,
        near_side=fused.near_side,
        near_confidence=fused.near_confidence,
        mirror_disagreement_pct=fused.mirror_disagreement_pct,
        length_px=fused.length_px,
    )
