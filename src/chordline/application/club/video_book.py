"""Videos within one transaction, as a protocol."""

from collections.abc import Sequence
from datetime import date
from typing import Protocol

from chordline.application.club.records import Json
from chordline.application.club.video_records import (
    FiledVideo,
    NewVideo,
    VideoCounts,
    VideoMeasurementRecord,
    VideoQuery,
    VideoRecord,
    VideoRow,
    VideoSaid,
    VideoState,
)
from chordline.core.body.track import Track


class VideoBook(Protocol):
    """Videos, what was read off them, and what they give to the findings."""

    def file(self, club_id: int, new: NewVideo) -> FiledVideo:
        """File a video as arrived; one that is there already gets its file back, no more."""
        ...

    def get(self, video_id: int) -> VideoRecord:
        """Return a video or raise `NotThereError`."""
        ...

    def with_sha256(self, club_id: int, sha256: str) -> VideoRecord | None:
        """Return the video of these bytes, if it is there."""
        ...

    def find(self, query: VideoQuery) -> tuple[VideoRow, ...]:
        """Return videos, the latest first."""
        ...

    def of_key_photo(self, photo_id: int) -> VideoRecord | None:
        """Return the video whose best moment a photo is."""
        ...

    def looks(self, club_id: int, *, limit: int = 50) -> tuple[VideoRow, ...]:
        """Return the videos that need a look.

        One whose key frame somebody looked at and found right needs none any more.
        """
        ...

    def counts(self, club_id: int) -> VideoCounts:
        """Return how many videos are in which state."""
        ...

    def say(self, video_id: int, said: VideoSaid) -> VideoRecord:
        """Keep what the coach says.

        Where that makes the measurement out of date the video is as it arrived; its hold and its
        key frame have to be removed first.
        """
        ...

    def refile(self, video_id: int, *, screen_id: int, taken_on: date | None) -> None:
        """Move a video as it stands, with its hold, to another screen."""
        ...

    def settle(
        self, video_id: int, *, revision: int, state: VideoState, reason: str | None = None
    ) -> bool:
        """Set a video's state, unless it is another by now."""
        ...

    def show(self, video_id: int, photo_id: int | None) -> None:
        """Say which photo its best moment became."""
        ...

    def forget_file(self, video_id: int) -> str | None:
        """Say that the file is kept no more; return the key to delete."""
        ...

    def remove(self, video_id: int) -> str | None:
        """Remove a video with what was read off it and its hold; return the key to delete."""
        ...

    def remove_hold(self, video_id: int) -> None:
        """Remove the hold that a video gave."""
        ...

    def save_measurement(
        self, video_id: int, record: Json, *, revision: int, catalogue: str
    ) -> VideoMeasurementRecord:
        """Keep the measurement of a video as it was at a revision, instead of an earlier one."""
        ...

    def measurement(self, video_id: int) -> VideoMeasurementRecord | None:
        """Return the measurement that counts: of the video as it is now."""
        ...

    def pieces(self, video_id: int, key: str | None = None) -> tuple[Track, ...]:
        """Return the pieces of her landmarks in order; with a key only where they are of it."""
        ...

    def keep_piece(self, video_id: int, key: str, number: int, piece: Track) -> None:
        """Keep a piece; pieces of another key are forgotten."""
        ...

    def seen_until(self, video_ids: Sequence[int]) -> dict[int, float]:
        """Return up to which time [s] landmarks of videos are kept; without those of none."""
        ...
