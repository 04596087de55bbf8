"""Follows one gymnast through the frames of a live camera, always within a bounded time.

A search for photos may take seconds where nobody is there. Here the picture is searched in parts,
a part a frame, so that every frame is answered.
"""

import math
import threading
from itertools import cycle
from typing import Final

import numpy as np
from numpy.typing import NDArray

from chordline.adapters.pose.detection import detect_in
from chordline.adapters.pose.facing import guess_near_side, weigh_sides
from chordline.adapters.pose.finder import MIRROR_GATE_PCT, settle, tile
from chordline.adapters.pose.fusion import Fused, fuse
from chordline.adapters.pose.live_place import LivePlace
from chordline.adapters.pose.networks import (
    Detector,
    Landmarker,
    TfliteDetector,
    TfliteLandmarker,
)
from chordline.adapters.pose.passes import Pass, look
from chordline.adapters.pose.roi import Pyramid, Roi
from chordline.adapters.pose.weights import ChosenWeights
from chordline.application.live.ports import Fits, LiveBody, Lost, Watch
from chordline.conventions import LANDMARKS
from chordline.core.geometry.angles import Floats

#: Below this the landmark network says that nobody is there.
_ABSENT: Final = 0.2
_MIN_LENGTH_PX: Final = 48.0
#: Views searched in one frame, and candidates that are looked at closely.
_VIEWS_A_FRAME: Final = 2
_TRIES_A_FRAME: Final = 2
_THRESHOLD: Final = 0.5
#: Who was uncertain is looked at again after this share of the time for who stands there plainly.
_UNCERTAIN_SHARE: Final = 0.25
#: Side of the view around her last place, in lengths of her body.
_NEAR_VIEW: Final = 3.0
#: Somebody less than this share of the longest body stands in the background, as in photos.
_BACKGROUND: Final = 0.6
#: Shares of the picture's long side and turns of the views that are searched by turns. A body that
#: the finest of them misses is too small to be told anything of.
_VIEWS: Final = (
    (1.0, 0.0),
    (1.0, math.pi),
    (0.75, 0.0),
    (0.75, math.pi),
    (1.0, math.pi / 2.0),
    (1.0, -math.pi / 2.0),
)
_HIP: Final = LANDMARKS.index("hip")
_SHOULDER: Final = LANDMARKS.index("shoulder")

_Pair = tuple[Pass, Pass]


class BlazePoseEye:
    """Implements `application.live.ports.LiveEye` with the full network.

    Parameters
    ----------
    detector : Detector
    network : Landmarker
        The heavy one takes twice the time and does not show it behind the smoothing.
    let_go_s : float
        Who has left the test's position for so long is followed no more.
    forget_s : float
        After so long unseen, whoever is in position may be followed.
    notice_s : float
        So long stands what one part of the picture showed.
    """

    def __init__(
        self,
        detector: Detector,
        network: Landmarker,
        *,
        let_go_s: float,
        forget_s: float,
        notice_s: float,
    ) -> None:
        self.detector = detector
        self.network = network
        self.let_go_s = let_go_s
        self.forget_s = forget_s
        self.notice_s = notice_s
        #: A network holds its input while it runs: devices are served one after the other.
        self.one_at_a_time = threading.Lock()

    @classmethod
    def from_weights(
        cls,
        weights: ChosenWeights,
        *,
        let_go_s: float,
        forget_s: float,
        notice_s: float,
        threads: int = 2,
    ) -> "BlazePoseEye":
        """Open the scout's weights; networks of its own, so that photos are measured beside."""
        return cls(
            TfliteDetector(weights.detector, threads=threads),
            TfliteLandmarker(weights.scout, threads=threads),
            let_go_s=let_go_s,
            forget_s=forget_s,
            notice_s=notice_s,
        )

    def watch(self) -> Watch:
        """Return a watch that has seen nothing yet."""
        return _BlazePoseWatch(self)


class _BlazePoseWatch:
    """One camera.

    Straight and mirrored looks take turns; each frame is read from its own look and the one before,
    which lie half a frame apart. Where the two differ by more than the gate of photos, the same
    frame is looked at both ways. What fails that, or moves, grows or shrinks faster than a body
    can, is lost, not believed.
    """

    def __init__(self, eye: BlazePoseEye) -> None:
        self._eye = eye
        self._roi: Roi | None = None
        self._last: Pass | None = None
        self._last_mirrored = False
        self._was: LivePlace | None = None
        self._fitted_s = -math.inf
        self._noticed: tuple[Lost, float] = ("nobody", -math.inf)
        self._views = cycle(_VIEWS)
        #: Who was looked at and not taken, and until when others are looked at first.
        self._passed: list[tuple[Roi, float]] = []

    def see(self, rgb: NDArray[np.uint8], *, at_s: float, fits: Fits) -> LiveBody | Lost:
        """Return her in the next frame, or why she is not followed."""
        with self._eye.one_at_a_time:
            picture = Pyramid(rgb)
            body = None if self._roi is None else self._follow_on(picture, self._roi, at_s)
            if body is not None and fits(_cranial(body)):
                self._fitted_s = at_s
            if body is not None and at_s - self._fitted_s <= self._eye.let_go_s:
                return _told(body, self._pair)
            if body is not None:
                # She came down or got up: the next one may be in position already.
                self._was = None
            self._roi = self._last = None
            return self._search(picture, at_s, fits)

    def _follow_on(self, picture: Pyramid, roi: Roi, at_s: float) -> Fused | None:
        mirrored = not self._last_mirrored
        shown = look(self._eye.network, picture, roi, mirrored=mirrored)
        if shown.presence < _ABSENT or shown.length_px() < _MIN_LENGTH_PX:
            return None
        body = None
        if self._last is not None and shown.next_roi.resembles(roi):
            body = self._gated(_pair(shown, self._last, mirrored=mirrored))
        if body is None:
            other = look(self._eye.network, picture, roi, mirrored=not mirrored)
            body = self._gated(_pair(shown, other, mirrored=mirrored))
        if body is None:
            return None
        now = _where(body, at_s)
        if self._was is not None and not self._was.may_become(now):
            return None
        self._roi, self._last, self._last_mirrored = shown.next_roi, shown, mirrored
        self._was = now
        return body

    def _gated(self, pair: _Pair) -> Fused | None:
        self._pair = pair
        fused = fuse([pair])
        return fused if fused.mirror_disagreement_pct <= MIRROR_GATE_PCT else None

    def _search(self, picture: Pyramid, at_s: float, fits: Fits) -> LiveBody | Lost:
        """Look for her in some of the views; the next frame looks in the next ones."""
        if self._was is not None and at_s - self._was.at_s > self._eye.forget_s:
            self._was = None
        found = self._confirmed(picture, self._views_now(picture), at_s, fits)
        fitting = [(body, pair) for body, pair in found if fits(_cranial(body))]
        was = self._was
        if was is not None:
            fitting = [one for one in fitting if was.may_become(_where(one[0], at_s))]
            fitting.sort(key=lambda one: math.dist(_hips(one[0]), was.hips_px))
        else:
            longest = max((body.length_px for body, _ in fitting), default=0.0)
            fitting = [one for one in fitting if one[0].length_px >= _BACKGROUND * longest]
            if len(fitting) > 1:
                self._noticed = ("two-people", at_s)
                return "two-people"
        if fitting:
            body, pair = fitting[0]
            self._roi, self._last, self._last_mirrored = pair[0].next_roi, pair[1], True
            self._was, self._fitted_s, self._pair = _where(body, at_s), at_s, pair
            return _told(body, pair)
        if was is not None:
            return "hidden"
        if found:
            self._noticed = ("not-in-position", at_s)
        what, when_s = self._noticed
        return what if at_s - when_s <= self._eye.notice_s else "nobody"

    def _views_now(self, picture: Pyramid) -> list[Roi]:
        if self._was is not None:
            side = _NEAR_VIEW * self._was.length_px
            return [Roi(*self._was.hips_px, side, turn_rad) for turn_rad in (0.0, math.pi)]
        views: list[Roi] = []
        while len(views) < _VIEWS_A_FRAME:
            share, turn_rad = next(self._views)
            views += tile(picture.width_px, picture.height_px, share, turn_rad)
        return views

    def _confirmed(
        self, picture: Pyramid, views: list[Roi], at_s: float, fits: Fits
    ) -> list[tuple[Fused, _Pair]]:
        """Return who passes the mirror gate in some views."""
        candidates = [
            one
            for view in views
            for one in detect_in(self._eye.detector, picture, view, threshold=_THRESHOLD)
        ]
        notice_s = self._eye.notice_s
        # Around her last place she herself may be who was uncertain a frame ago.
        self._passed = (
            [(roi, until_s) for roi, until_s in self._passed if at_s <= until_s]
            if self._was is None
            else []
        )
        people: list[tuple[Fused, _Pair]] = []
        tried: list[Roi] = []
        for candidate in sorted(candidates, key=lambda one: -one.score):
            if len(tried) == _TRIES_A_FRAME:
                break
            if any(candidate.roi.resembles(roi) for roi in tried):
                continue
            if any(candidate.roi.resembles(roi) for roi, _ in self._passed):
                continue
            tried.append(candidate.roi)
            pair = settle(self._eye.network, picture, candidate.roi)
            fused = None if pair is None else fuse([pair])
            if pair is None or fused is None or fused.mirror_disagreement_pct > MIRROR_GATE_PCT:
                self._passed.append((candidate.roi, at_s + _UNCERTAIN_SHARE * notice_s))
                continue
            if not fits(_cranial(fused)):
                self._passed.append((candidate.roi, at_s + notice_s))
            if not any(
                _where(fused, at_s).is_same_sighting(_where(other, at_s)) for other, _ in people
            ):
                people.append((fused, pair))
        return people


def _pair(shown: Pass, other: Pass, *, mirrored: bool) -> _Pair:
    """Return (straight, mirrored)."""
    return (other, shown) if mirrored else (shown, other)


def _told(body: Fused, pair: _Pair) -> LiveBody:
    side, confidence = guess_near_side([weigh_sides(one) for one in pair])
    odds = math.log(confidence / max(1.0 - confidence, 1e-9))
    return LiveBody(
        xy_px=body.xy_px,
        sd_px=body.sd_px,
        near_log_odds=odds if side == "left" else -odds,
    )


def _cranial(body: Fused) -> Floats:
    return np.asarray(body.xy_px[_SHOULDER] - body.xy_px[_HIP])


def _hips(body: Fused) -> tuple[float, float]:
    x, y = body.xy_px[_HIP].tolist()
    return x, y


def _where(body: Fused, at_s: float) -> LivePlace:
    return LivePlace(at_s, _hips(body), body.length_px)
