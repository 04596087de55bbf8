"""What measuring a video needs from the world, as protocols. Adapters implement them."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, BinaryIO, Protocol

import numpy as np
from numpy.typing import NDArray

from chordline.application.club.video_records import VideoFacts
from chordline.application.ports import Photo
from chordline.core.body.found import FoundBody
from chordline.core.body.track import Track


@dataclass(frozen=True)
class VideoSource:
    """A video that is no file by itself, such as one in a store that keeps it encrypted.

    Attributes
    ----------
    name : str
        To say; never used to reach a file.
    open : callable
        Gives the bytes, to be read from and sought in; the one who calls it closes them.
    sha256 : str
        Of the bytes.
    """

    name: str
    open: Callable[[], BinaryIO]
    sha256: str


#: A video as it is given to be read.
VideoInput = Path | VideoSource


@dataclass(frozen=True)
class Span:
    """The part of a video that is looked at, in its own time [s]; None = from or to its end."""

    from_s: float | None = None
    to_s: float | None = None


@dataclass(frozen=True)
class VideoFrame:
    """One frame, upright, with square pixels.

    Attributes
    ----------
    t_s : float [s]
        Time in the video; that of its first frame is about 0.
    rgb : (h, w, 3) uint8 array
        Averaged down for tracking.
    """

    t_s: float
    rgb: NDArray[np.uint8]


@dataclass
class Told:
    """What a reader has to say about the frames that it read; grows while they are read.

    Attributes
    ----------
    sentences : list of str
        Without the file's name.
    """

    sentences: list[str] = field(default_factory=list)

    def say(self, sentence: str) -> None:
        """Keep a sentence, once."""
        if sentence not in self.sentences:
            self.sentences.append(sentence)


class Video(Protocol):
    """One opened video. Place, device, owner and all other metadata are dropped on reading."""

    @property
    def name(self) -> str:
        """File name without folders."""
        ...

    @property
    def sha256(self) -> str:
        """Of the file's bytes."""
        ...

    @property
    def width_px(self) -> int:
        """Width of the full upright frame, pixels made square."""
        ...

    @property
    def height_px(self) -> int:
        """Height of the full upright frame, pixels made square."""
        ...

    @property
    def working_width_px(self) -> int:
        """Width of the frames' `rgb`."""
        ...

    @property
    def expected_frames(self) -> int:
        """About how many frames there will be."""
        ...

    @property
    def told(self) -> Told:
        """What the coach should know about the file; more comes while frames are read."""
        ...

    def frames(self, *, after_s: float | None = None) -> Iterator[VideoFrame]:
        """Yield the frames of the span, or those after a time, one at a time.

        Raises `PictureError` only where not a single frame can be read: a video that is cut off
        gives what it has, and `told` says so.
        """
        ...

    def photo_at(self, t_s: float) -> Photo:
        """Return the frame at or next after a time in full size, or the last one before it."""
        ...


class VideoReader(Protocol):
    """Opens video files."""

    def is_video(self, path: Path) -> bool:
        """Return whether a file is to be read as a video: by its content, not by its name."""
        ...

    def check_head(self, name: str, head: bytes) -> None:
        """Raise `PictureError` where the first bytes of a file are no video's."""
        ...

    def describe(self, video: VideoInput) -> VideoFacts:
        """Return what a video says of itself; raise `PictureError` as `open` does.

        However long it is.
        """
        ...

    def open(self, video: VideoInput, span: Span) -> Video:
        """Raise `PictureError` with a sentence that says what to do."""
        ...


#: Chooses the gymnast among the people of a frame (pixels of that frame), or raises
#: `BodyNotFoundError` where none stands out.
ChooseBody = Callable[[Sequence[FoundBody]], FoundBody]


class BodyTracker(Protocol):
    """Follows one body through frames."""

    @property
    def model(self) -> str:
        """Name and version of the networks."""
        ...

    def follow(
        self, frames: Iterable[VideoFrame], choose: ChooseBody, *, after: Track | None = None
    ) -> Iterator[Track]:
        """Yield the body in pieces of some seconds, in pixels of the frames.

        `after` is the last piece of an earlier run over the frames before these.
        """
        ...


class VideoStore(Protocol):
    """Remembers what was read off videos, so that a stopped run goes on where it was."""

    def pieces(self, key: str) -> tuple[Track, ...]:
        """Return the pieces of a track that were kept, in order, without a gap."""
        ...

    def keep_piece(self, key: str, number: int, piece: Track) -> None:
        """Keep a piece; once this returns, a kill does not lose it."""
        ...

    def record(self, key: str) -> dict[str, Any] | None:
        """Return the finished record of a video."""
        ...

    def keep_record(self, key: str, record: dict[str, Any]) -> None:
        """Keep the finished record."""
        ...
