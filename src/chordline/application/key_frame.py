"""The one frame of a video that is measured as a photo is, and the card in it."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from chordline.application.measure_photo import MeasurePhoto, MeasureRequest
from chordline.application.ports import (
    CardReader,
    DetectedCard,
    Photo,
    PhotoReader,
    PoseEstimator,
)
from chordline.application.video_ports import Video
from chordline.application.video_track import nearest_seen
from chordline.catalogue.schema import Catalogue
from chordline.conventions import LANDMARKS, SIDES
from chordline.core.body.found import FoundBody
from chordline.core.body.measurement import Measurement
from chordline.core.body.track import Track
from chordline.core.body.track_sides import NearSide
from chordline.core.geometry.angles import Floats
from chordline.errors import BodyNotFoundError

#: Who is found farther from the followed body than this share of its length is somebody else.
_SAME_BODY = 0.35
#: Moments beside the best one that are tried where her body is not found there [s].
_BESIDE_S = (0.0, -0.2, 0.2, -0.5, 0.5)
#: Shares of the video at which a card is looked for where none stands in the key frame.
_CARD_AT = (0.02, 0.35, 0.7, 0.95)
_HIP = LANDMARKS.index("hip")


@dataclass(frozen=True)
class KeyFrame:
    """The measured frame: when it is, its picture, the cards that were read and the measurement."""

    t_s: float
    photo: Photo
    cards: tuple[DetectedCard, ...]
    measurement: Measurement


class _HerAlone:
    """Finds only the body that was followed; its near side is what all frames together say."""

    def __init__(
        self, poses: PoseEstimator, hips_px: Floats, length_px: float, near: NearSide
    ) -> None:
        self._poses = poses
        self._hips_px = hips_px
        self._length_px = length_px
        self._near = near

    @property
    def model(self) -> str:
        """Name and version of the networks."""
        return self._poses.model

    def find(self, rgb: NDArray[np.uint8]) -> tuple[FoundBody, ...]:
        """Return her, or nobody."""

        def apart(body: FoundBody) -> float:
            return float(np.linalg.norm(body.sides_xy_px[:, _HIP].mean(axis=0) - self._hips_px))

        body = min(self._poses.find(rgb), key=apart, default=None)
        if body is None or apart(body) > _SAME_BODY * self._length_px:
            return ()
        side = self._near.side
        xy_px = body.xy_px if side == body.near_side else body.sides_xy_px[SIDES.index(side)]
        return (replace(body, xy_px=xy_px, near_side=side, near_confidence=self._near.confidence),)


class MeasureKeyFrame:
    """Measures one frame of a video as a photo."""

    def __init__(
        self,
        reader: PhotoReader,
        cards: CardReader,
        poses: PoseEstimator,
        catalogue: Catalogue,
    ) -> None:
        self._reader = reader
        self._cards = cards
        self._poses = poses
        self._catalogue = catalogue

    def __call__(
        self, video: Video, track: Track, near: NearSide, best_s: float, request: MeasureRequest
    ) -> KeyFrame:
        """Return the measurement of the frame at or beside the best moment.

        Raises
        ------
        BodyNotFoundError
            When her body is found in none of them as surely as a photo asks for.
        """
        failed: BodyNotFoundError | None = None
        cards: tuple[DetectedCard, ...] | None = None
        elsewhere = False
        tried: set[float] = set()
        for beside_s in _BESIDE_S:
            t_s, sides = nearest_seen(track, best_s + beside_s)
            if t_s in tried:
                continue
            tried.add(t_s)
            photo = video.photo_at(t_s)
            measure = self._measure_her(photo, sides, near)
            here = measure.cards_in(photo)
            if here:
                cards, elsewhere = here, False
            elif cards is None:
                cards = self._cards_elsewhere(video, track, measure)
                elsewhere = bool(cards)
            try:
                measurement = measure.measure(photo, replace(request, person=None), cards=cards)
            except BodyNotFoundError as error:
                failed = error
                continue
            if elsewhere:
                told = "the card was read at another moment of the video: the phone must not move"
                measurement = replace(measurement, cautions=(*measurement.cautions, told))
            return KeyFrame(t_s, photo, cards, measurement)
        raise failed or BodyNotFoundError(f"{video.name}: no body was found in it")

    def _measure_her(self, photo: Photo, sides_px: Floats, near: NearSide) -> MeasurePhoto:
        k = photo.photo_px_per_working_px
        line = (sides_px.mean(axis=0) + 0.5) / k - 0.5
        body = line[[LANDMARKS.index(n) for n in ("malleolus", "knee", "hip", "shoulder", "ear")]]
        length = float(np.linalg.norm(np.diff(body, axis=0), axis=1).sum())
        her = _HerAlone(self._poses, line[_HIP], length, near)
        return MeasurePhoto(self._reader, self._cards, her, self._catalogue)

    @staticmethod
    def _cards_elsewhere(
        video: Video, track: Track, measure: MeasurePhoto
    ) -> tuple[DetectedCard, ...]:
        begin, end = float(track.t_s[0]), float(track.t_s[-1])
        for share in _CARD_AT:
            cards = measure.cards_in(video.photo_at(begin + share * (end - begin)))
            if cards:
                return cards
        return ()
