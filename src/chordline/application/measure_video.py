"""From one video of one test to its measurement: best moment, hold, traces."""

import hashlib
import json
from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass, field, replace
from pathlib import Path

import numpy as np

from chordline.application.choose import fits_posture
from chordline.application.headway import Progress
from chordline.application.key_frame import KeyFrame, MeasureKeyFrame
from chordline.application.measure_photo import MeasureRequest
from chordline.application.ports import CardReader, Photo, PhotoReader, PoseEstimator
from chordline.application.video_course import ReadCourse, VideoCourse
from chordline.application.video_json import video_from_json, video_to_json
from chordline.application.video_measurement import Clip, TraceTold, VideoMeasurement
from chordline.application.video_ports import (
    BodyTracker,
    Span,
    Video,
    VideoInput,
    VideoReader,
    VideoStore,
)
from chordline.application.video_track import track_body
from chordline.application.video_words import doubts_in_words, why_untold
from chordline.catalogue.motion import MotionCatalogue
from chordline.catalogue.schema import Catalogue, TestEntry
from chordline.conventions import LANDMARKS, Side
from chordline.core.body.measures import unit_of
from chordline.core.body.orientation import resolve_orientation
from chordline.core.body.track import Track
from chordline.core.body.track_sides import NearSide, guess_near, split_near_far
from chordline.core.geometry.plane import PlaneFrame
from chordline.core.motion.arrival import Arrival
from chordline.core.motion.hold import Hold
from chordline.core.motion.traces import Traces
from chordline.core.motion.untold import Untold
from chordline.errors import BodyNotFoundError, RefusedInputError, WrongUseError

#: Changes when the way from landmarks to a record does; kept records of another way are not used.
_WAY = 2
#: Likewise of the way to landmarks.
_TRACK_WAY = 1
#: A part of a video that is never too long to be opened [s].
_A_MOMENT_S = 1.0


@dataclass(frozen=True)
class VideoRequest:
    """What to measure in a video: as in a photo, and which part of it."""

    photo: MeasureRequest
    span: Span = field(default_factory=Span)


class MeasureVideo:
    """Use case: measure one video."""

    def __init__(
        self,
        *,
        videos: VideoReader,
        photos: PhotoReader,
        cards: CardReader,
        tracker: Callable[[], BodyTracker | None],
        poses: PoseEstimator | None,
        catalogue: Catalogue,
        motion: MotionCatalogue,
    ) -> None:
        self._videos = videos
        self._tracker = tracker
        self._poses = poses
        self._photos = photos
        self._cards = cards
        self._catalogue = catalogue
        self._motion = motion
        self._read = ReadCourse(catalogue, motion)

    def is_video(self, path: Path) -> bool:
        """Return whether a file is to be measured as a video."""
        return self._videos.is_video(path)

    def read_picture(self, video: VideoInput, t_s: float) -> Photo:
        """Return one frame of a video as a picture; raise `PictureError` where there is none."""
        return self._videos.open(video, Span(t_s, t_s + _A_MOMENT_S)).photo_at(t_s)

    @property
    def timing_rel_sd(self) -> float:
        """Relative error of a hold's seconds beside that of the landmarks."""
        return self._motion.setting("timing_rel_sd")

    def __call__(
        self, source: VideoInput, request: VideoRequest, *, store: VideoStore, progress: Progress
    ) -> VideoMeasurement:
        """Return the measurement of a video.

        Raises
        ------
        WrongUseError
            For an unknown test, or hand marks.
        RefusedInputError
            For a video or people that cannot be used; the message says what to do.
        """
        test = self._test(request)
        tracker = self._tracker()
        if tracker is None or self._poses is None:
            raise BodyNotFoundError(
                f"{source.name}: the pose weights are not installed, and a video has too many "
                "frames for hand marks; 'chordline weights' installs them"
            )
        video = self._videos.open(source, request.span)
        key = self._key(video, request, self._poses, tracker)
        kept = self._kept(store, key)
        if kept is not None:
            return replace(kept, measurement=replace(kept.measurement, photo=source.name))
        track = track_body(
            video,
            tracker,
            test=test,
            person=request.photo.person,
            store=store,
            key=self._track_key(video, request, test, tracker),
            progress=progress,
        )
        keys = MeasureKeyFrame(self._photos, self._cards, self._poses, self._catalogue)
        measured = self._measure(video, track, request, test, keys)
        store.keep_record(key, video_to_json(measured))
        return measured

    def _test(self, request: VideoRequest) -> TestEntry:
        if request.photo.marks is not None:
            raise WrongUseError("marks belong to one photo; a video is measured without them")
        try:
            return self._catalogue.tests[request.photo.test]
        except KeyError:
            known = ", ".join(self._catalogue.tests)
            raise WrongUseError(
                f"no test is called '{request.photo.test}'; known are {known}"
            ) from None

    def _kept(self, store: VideoStore, key: str) -> VideoMeasurement | None:
        record = store.record(key)
        try:
            return None if record is None else video_from_json(record)
        except (ValueError, KeyError, TypeError):
            return None

    def _measure(
        self,
        video: Video,
        track: Track,
        request: VideoRequest,
        test: TestEntry,
        keys: MeasureKeyFrame,
    ) -> VideoMeasurement:
        near = guess_near(track)
        side = self._likely_side(video, track, near, request, test)
        first = self._read(
            track, test=test, name=request.photo.test, near=near, side=side, key=None
        )
        key = keys(video, track, near, self._read.best_moment(first, track, test), request.photo)
        side = key.measurement.near_side
        course = self._read(
            track, test=test, name=request.photo.test, near=near, side=side, key=key
        )
        return self._told(video, track, test, key, course)

    def _likely_side(
        self, video: Video, track: Track, near: NearSide, request: VideoRequest, test: TestEntry
    ) -> Side:
        """Return the near side as far as the track alone says it; the key frame has the last word.

        Notes
        -----
        Where she faces is read off the frames whose trunk lies as the test wants it.
        """
        line, _ = split_near_far(track)
        hip, shoulder = LANDMARKS.index("hip"), LANDMARKS.index("shoulder")
        cranial = (line[:, shoulder] - line[:, hip])[track.seen]
        up = PlaneFrame.of_level_phone().up
        fitting = [one for one in cranial if fits_posture(one, up, test)]
        try:
            return resolve_orientation(
                np.median(fitting if fitting else cranial, axis=0),
                up=up,
                given_near=request.photo.near_side,
                given_front=request.photo.front,
                expected_front=test.front,
                guess=(near.side, near.confidence),
            ).near_side
        except ValueError as error:
            raise RefusedInputError(f"{video.name}: {error}") from None

    def _told(
        self, video: Video, track: Track, test: TestEntry, key: KeyFrame, course: VideoCourse
    ) -> VideoMeasurement:
        cautions = [*key.measurement.cautions, *video.told.sentences]
        hold = course.hold if isinstance(course.hold, Hold) else None
        if isinstance(course.hold, Untold):
            cautions.append(why_untold(course.hold, "seconds"))
        if hold is not None:
            cautions += doubts_in_words(hold)
        if isinstance(course.arrival, Untold):
            cautions.append(why_untold(course.arrival, "moment of arrival"))
        lost = 1.0 - float(track.seen.mean())
        if lost > 0.05:
            cautions.append(f"she was not found in {lost:.0%} of the frames")
        steps = np.diff(track.t_s)
        return VideoMeasurement(
            measurement=replace(key.measurement, cautions=tuple(cautions)),
            hold=hold,
            traces=_told_traces(course.traces, test),
            clip=Clip(
                from_s=float(track.t_s[0]),
                to_s=float(track.t_s[-1]),
                frames=len(track.t_s),
                rate_hz=float(1.0 / np.median(steps)) if len(steps) else 0.0,
                seen_share=1.0 - lost,
                cutoff_hz=course.traces.cutoff_hz,
                key_s=key.t_s,
                arrived_s=course.arrival.at_s if isinstance(course.arrival, Arrival) else None,
            ),
            sway=course.sway,
        )

    def _track_key(
        self, video: Video, request: VideoRequest, test: TestEntry, tracker: BodyTracker
    ) -> str:
        return _digest(
            {
                "way": _TRACK_WAY,
                "sha256": video.sha256,
                "span": asdict(request.span),
                "person": request.photo.person,
                "group": test.group,
                "tracker": tracker.model,
            }
        )

    def _key(
        self, video: Video, request: VideoRequest, poses: PoseEstimator, tracker: BodyTracker
    ) -> str:
        said = request.photo
        return _digest(
            {
                "way": _WAY,
                "sha256": video.sha256,
                "span": asdict(request.span),
                "test": said.test,
                "near": said.near_side,
                "front": said.front,
                "person": said.person,
                "card": said.expected_card,
                "models": [poses.model, tracker.model],
                "catalogues": [self._catalogue.version, self._motion.version],
            }
        )


def _digest(said: Mapping[str, object]) -> str:
    return hashlib.sha256(json.dumps(said, sort_keys=True).encode()).hexdigest()[:32]


def _told_traces(traces: Traces, test: TestEntry) -> dict[str, TraceTold]:
    return {
        name: TraceTold(traces.t_s, trace.value, trace.sd)
        for name, trace in traces.of.items()
        if name in test.measures and np.isfinite(trace.value).any() and unit_of(name)
    }
