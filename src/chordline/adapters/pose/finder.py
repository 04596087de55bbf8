"""Where the people are: views of the picture, candidates, and the mirror gate."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from chordline.adapters.pose.detection import Candidate, detect_in
from chordline.adapters.pose.fusion import mirror_disagreement_pct
from chordline.adapters.pose.networks import Detector, Landmarker
from chordline.adapters.pose.passes import Pass, look
from chordline.adapters.pose.roi import Pyramid, Roi
from chordline.conventions import LANDMARKS

#: An answer is right where it differs from the answer in the mirrored cut by less than this, in %
#: of the body's length. Right answers differ by about 1 %, wrong ones by more than 100 %.
MIRROR_GATE_PCT: Final = 5.0

#: Tiles by their share of the picture's long side. The detector sees nobody shorter than about
#: 35 % of a view's side; halves reach down to 18 % of the picture, the finer ones to 10 %.
_COARSE: Final = (1.0, 0.75, 0.5)
_FINE: Final = (0.3,)
#: Neighbouring tiles are at most this share of a tile apart.
_STEP: Final = 0.5

#: Score of the detector; where nobody is found, the lower one.
_THRESHOLD: Final = 0.5
_LOW_THRESHOLD: Final = 0.35
#: Below this the landmark network itself says that nobody is there. (Above it, it proves nothing.)
_ABSENT: Final = 0.2
#: Hips nearer than this share of the longer body's length belong to one body.
SAME_BODY: Final = 0.2

_MAX_TRIES: Final = 8
_MAX_PEOPLE: Final = 4
_MIN_LENGTH_PX: Final = 48.0
_MAX_MOVES: Final = 3
_HIP: Final = LANDMARKS.index("hip")


@dataclass(frozen=True)
class Sighting:
    """A body that passed the gate: the region to look at it, and its size."""

    roi: Roi
    hips_px: tuple[float, float]
    length_px: float
    disagreement_pct: float

    def is_same_body(self, other: "Sighting") -> bool:
        """Return whether the hips of two sightings lie too close for two bodies."""
        return math.dist(self.hips_px, other.hips_px) < SAME_BODY * max(
            self.length_px, other.length_px
        )


def tile(width_px: int, height_px: int, share: float, turn_rad: float) -> Iterator[Roi]:
    """Yield square views whose side is `share` of the long side and which cover the picture."""
    side = share * max(width_px, height_px)
    for y in _centres(height_px, side):
        for x in _centres(width_px, side):
            yield Roi(x, y, side, turn_rad)


def _centres(extent: int, side: float) -> list[float]:
    if extent <= side:
        return [(extent - 1) / 2.0]
    count = 1 + math.ceil((extent - side) / (_STEP * side) - 1e-9)
    return [float(c) for c in np.linspace(side / 2.0, extent - side / 2.0, count) - 0.5]


def settle(network: Landmarker, picture: Pyramid, roi: Roi) -> tuple[Pass, Pass] | None:
    """Follow the network to where it wants to look, and look there straight and mirrored.

    Returns
    -------
    (straight, mirrored), or None where the network says that nobody is there or moves on for ever.
    """
    first = look(network, picture, roi)
    if first.presence < _ABSENT:
        return None
    roi = first.next_roi
    for _ in range(_MAX_MOVES):
        straight = look(network, picture, roi)
        if straight.presence < _ABSENT or straight.length_px() < _MIN_LENGTH_PX:
            return None
        if straight.next_roi.settled_from(roi):
            return straight, look(network, picture, roi, mirrored=True)
        roi = straight.next_roi
    return None


def sight(network: Landmarker, picture: Pyramid, roi: Roi) -> Sighting | None:
    """Return the body in a region if it passes the mirror gate."""
    pair = settle(network, picture, roi)
    if pair is None:
        return None
    disagreement = mirror_disagreement_pct(*pair)
    if not disagreement <= MIRROR_GATE_PCT:
        return None
    hips = np.mean([p.sides_xy_px[:, _HIP].mean(axis=0) for p in pair], axis=0)
    return Sighting(
        roi=pair[0].next_roi,
        hips_px=(float(hips[0]), float(hips[1])),
        length_px=pair[0].length_px(),
        disagreement_pct=disagreement,
    )


@dataclass(frozen=True)
class _Round:
    """One sweep over the picture: tile sizes, quarter turns, detector score, landmark network."""

    shares: tuple[float, ...]
    quarters: int
    threshold: float
    network: Landmarker


class Finder:
    """Searches a picture for everybody in it.

    Parameters
    ----------
    detector : Detector
    scout : Landmarker
        A fast landmark network: it only confirms and centres.
    careful : Landmarker
        The best landmark network, for what the scout could not confirm.
    """

    def __init__(self, detector: Detector, scout: Landmarker, careful: Landmarker) -> None:
        self._detector = detector
        self._rounds = (
            *(_Round(_COARSE, quarters, _THRESHOLD, scout) for quarters in (0, 2, 1, 3)),
            _Round(_FINE, 0, _THRESHOLD, scout),
            _Round(_COARSE, 0, _LOW_THRESHOLD, careful),
        )

    def find(self, picture: Pyramid) -> tuple[Sighting, ...]:
        """Return every body that passes the gate, the longest first.

        Notes
        -----
        Upright views first, then, only where these show nobody, the quarter turns, finer tiles and
        a last careful sweep. The first round that finds somebody ends the search.
        """
        for sweep in self._rounds:
            if people := self._confirm(picture, self._candidates(picture, sweep), sweep.network):
                return tuple(sorted(people, key=lambda one: -one.length_px))
        return ()

    def _candidates(self, picture: Pyramid, sweep: _Round) -> list[Candidate]:
        turn_rad = sweep.quarters * math.pi / 2.0
        found = [
            candidate
            for share in sweep.shares
            for view in tile(picture.width_px, picture.height_px, share, turn_rad)
            for candidate in detect_in(self._detector, picture, view, threshold=sweep.threshold)
        ]
        return sorted(found, key=lambda candidate: -candidate.score)

    @staticmethod
    def _confirm(
        picture: Pyramid, candidates: Sequence[Candidate], network: Landmarker
    ) -> list[Sighting]:
        people: list[Sighting] = []
        tried: list[Roi] = []
        for candidate in candidates:
            if len(tried) == _MAX_TRIES or len(people) == _MAX_PEOPLE:
                break
            if any(candidate.roi.resembles(roi) for roi in tried):
                continue
            if any(_lies_on(candidate.roi, one) for one in people):
                continue
            tried.append(candidate.roi)
            one = sight(network, picture, candidate.roi)
            if one and not any(one.is_same_body(other) for other in people):
                people.append(one)
        return people


def _lies_on(roi: Roi, one: Sighting) -> bool:
    return math.dist((roi.x_px, roi.y_px), one.hips_px) < SAME_BODY * one.length_px
