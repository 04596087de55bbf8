"""From a video to the track of her body: kept piece by piece, taken up where it stopped."""

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from chordline.application.choose import choose_body
from chordline.application.headway import Progress
from chordline.application.video_ports import BodyTracker, Video, VideoFrame, VideoStore
from chordline.catalogue.schema import TestEntry
from chordline.core.body.found import FoundBody
from chordline.core.body.track import Track, join_tracks
from chordline.core.geometry.angles import Floats
from chordline.core.geometry.plane import PlaneFrame
from chordline.errors import BodyNotFoundError

#: Frames between two words of progress.
_TELL_EVERY = 15


def track_body(
    video: Video,
    tracker: BodyTracker,
    *,
    test: TestEntry,
    person: int | None,
    store: VideoStore,
    key: str,
    progress: Progress,
) -> Track:
    """Return the track of a video, in pixels of its full frames.

    Raises
    ------
    BodyNotFoundError
        When nobody was found in any frame, or several and nobody stood out.
    """
    pieces = list(store.pieces(key))
    after = pieces[-1] if pieces else None
    done = sum(len(piece.t_s) for piece in pieces)
    progress.start(max(1, -(-video.expected_frames // _TELL_EVERY)))
    for _ in range(done // _TELL_EVERY):
        progress.step(video.name)

    def choose(bodies: Sequence[FoundBody]) -> FoundBody:
        up = PlaneFrame.of_level_phone().up
        return choose_body(bodies, test=test, up=up, person=person)

    frames = video.frames(after_s=None if after is None else float(after.t_s[-1]))
    told = _tell(frames, progress, video.name)
    try:
        for piece in tracker.follow(told, choose, after=after):
            store.keep_piece(key, len(pieces), piece)
            pieces.append(piece)
    except BodyNotFoundError as error:
        raise BodyNotFoundError(f"{video.name}: {error}") from None
    track = join_tracks(pieces)
    if not track.seen.any():
        raise BodyNotFoundError(
            f"{video.name}: no body was found in it; film square from the side so that she fills "
            "at least a third of its width"
        )
    scale = video.width_px / video.working_width_px
    return replace(
        track,
        sides_xy_px=(track.sides_xy_px + 0.5) * scale - 0.5,
        region=track.region * np.array([scale, scale, scale, 1.0]),
    )


def _tell(frames: Iterator[VideoFrame], progress: Progress, name: str) -> Iterator[VideoFrame]:
    for number, frame in enumerate(frames, start=1):
        yield frame
        if number % _TELL_EVERY == 0:
            progress.step(name)


def nearest_seen(track: Track, t_s: float) -> tuple[float, Floats]:
    """Return time and (2, 10, 2) landmarks of the frame next to a time in which she is seen."""
    frames = np.flatnonzero(track.seen)
    at = int(frames[np.argmin(np.abs(track.t_s[frames] - t_s))])
    return float(track.t_s[at]), track.sides_xy_px[at]
