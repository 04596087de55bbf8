"""Videos of the records as they are read: frozen, without a database behind them."""

from dataclasses import dataclass, fields
from datetime import date, datetime
from typing import Final, Literal, get_args

from chordline.application.club.records import Json
from chordline.conventions import Front, Side

VideoState = Literal["arrived", "waiting", "measured", "needs_look", "refused"]
VIDEO_STATES: Final[tuple[VideoState, ...]] = get_args(VideoState)


@dataclass(frozen=True)
class VideoFacts:
    """What a video file says of itself.

    Attributes
    ----------
    duration_s : float or None [s]
        None where the file does not say it.
    width_px, height_px : int
        Of the full upright frame.
    working_width_px : int
        Width of the frames in which she is followed.
    rate_hz : float
        Frames a second.
    """

    duration_s: float | None
    width_px: int
    height_px: int
    working_width_px: int
    rate_hz: float


@dataclass(frozen=True)
class VideoSaid:
    """What the coach says of a video; None = not said, or to be found out.

    Attributes
    ----------
    screen_id : int or None
    test : str or None
    near_side, front, person : optional
        As of a photo.
    from_s, to_s : float or None [s]
        The part that is measured, in the video's time; None = from or to its end.
    taken_on : date or None
    keep_file : bool
        Whether the file stays once it is measured.
    """

    screen_id: int | None = None
    test: str | None = None
    near_side: Side | None = None
    front: Front | None = None
    person: int | None = None
    from_s: float | None = None
    to_s: float | None = None
    taken_on: date | None = None
    keep_file: bool = True


@dataclass(frozen=True)
class NewVideo:
    """A video to be filed; its file stands in the store already."""

    name: str
    sha256: str
    size_bytes: int
    content_key: str
    facts: VideoFacts
    said: VideoSaid
    reason: str | None = None


@dataclass(frozen=True)
class VideoRecord:
    """A video.

    Attributes
    ----------
    id, club_id : int
    name : str
        The file's own name, to show; never used to reach a file.
    sha256, size_bytes
        Of the bytes that came in.
    content_key : str or None
        Where the store has the file; None = not kept (any more).
    said : VideoSaid
    facts : VideoFacts
    state : {'arrived', 'waiting', 'measured', 'needs_look', 'refused'}
        'arrived': nobody asked to measure it yet.
    reason : str or None
        Why it needs a look, is refused, or cannot be measured whole.
    revision : int
        Counts what makes a measurement out of date.
    key_photo_id : int or None
        The photo that its best moment became.
    received_at : datetime
    """

    id: int
    club_id: int
    name: str
    sha256: str
    size_bytes: int
    content_key: str | None
    said: VideoSaid
    facts: VideoFacts
    state: VideoState
    reason: str | None
    revision: int
    key_photo_id: int | None
    received_at: datetime


@dataclass(frozen=True)
class FiledVideo:
    """What came of filing: the video, and whether it was there already."""

    video: VideoRecord
    already_there: bool


@dataclass(frozen=True)
class VideoMeasurementRecord:
    """The measurement of a video as it was at a revision; `record` as `video_to_json` gives."""

    video_id: int
    revision: int
    record: Json
    model: str
    catalogue: str
    measured_at: datetime


@dataclass(frozen=True)
class VideoQuery:
    """Which videos of a club, the latest first; None = whichever."""

    club_id: int
    screen_id: int | None = None
    gymnast_id: int | None = None
    state: VideoState | None = None
    limit: int = 200


@dataclass(frozen=True)
class VideoRow:
    """A video of a list, and whose it is as far as known."""

    video: VideoRecord
    gymnast_id: int | None
    gymnast: str | None
    screened_on: date | None


@dataclass(frozen=True)
class VideoCounts:
    """How many videos wait for somebody to ask, wait for measuring, need a look, are refused."""

    arrived: int
    waiting: int
    needs_look: int
    refused: int


SAID_FIELDS: Final = tuple(one.name for one in fields(VideoSaid))
FACT_FIELDS: Final = tuple(one.name for one in fields(VideoFacts))
