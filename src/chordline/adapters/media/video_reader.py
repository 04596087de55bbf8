"""Opens video files with PyAV."""

import stat
from pathlib import Path
from typing import TYPE_CHECKING, Final

from chordline.adapters.media.video_kind import check_kind, is_video_file
from chordline.application.club.video_records import VideoFacts
from chordline.application.video_ports import Span, Video, VideoInput
from chordline.errors import PictureError

if TYPE_CHECKING:
    from chordline.adapters.media.video_file import AvVideo

_AGAIN: Final = "copy it from the phone again"
#: A part of a video that is never too long to be opened [s].
_A_MOMENT_S: Final = 1.0


class AvVideoReader:
    """Implements `application.video_ports.VideoReader` with PyAV.

    Parameters
    ----------
    longest_s : float [s]
        Longest part of a video that is measured.
    threads : int
        For decoding.
    """

    def __init__(self, *, longest_s: float, threads: int = 2) -> None:
        self._longest_s = longest_s
        self._threads = threads

    def is_video(self, path: Path) -> bool:
        """Return whether a file is to be read as a video."""
        return is_video_file(path)

    def check_head(self, name: str, head: bytes) -> None:
        """Raise `PictureError` where the first bytes of a file are no video's."""
        check_kind(name, head)

    def describe(self, video: VideoInput) -> VideoFacts:
        """Return what a video says of itself, however long it is."""
        opened = self._open(video, Span(to_s=_A_MOMENT_S))
        return VideoFacts(
            duration_s=opened.duration_s,
            width_px=opened.width_px,
            height_px=opened.height_px,
            working_width_px=opened.working_width_px,
            rate_hz=opened.rate_hz,
        )

    def open(self, video: VideoInput, span: Span) -> Video:
        """Return the opened video; raise `PictureError` with a sentence that says what to do."""
        return self._open(video, span)

    def _open(self, video: VideoInput, span: Span) -> "AvVideo":
        # The decoders take a tenth of a second to load; who measures photos does not wait for them.
        from chordline.adapters.media.video_file import AvVideo  # noqa: PLC0415

        if isinstance(video, Path):
            check_file(video)
        return AvVideo(video, span, longest_s=self._longest_s, threads=self._threads)


def check_file(path: Path) -> None:
    """Raise `PictureError` where there is no file with something in it."""
    try:
        status = path.stat()
    except FileNotFoundError:
        raise PictureError(path.name, "there is no such file; check its name and folder") from None
    except (OSError, ValueError):
        raise PictureError(path.name, "cannot be opened; check the path and its rights") from None
    if not stat.S_ISREG(status.st_mode):
        raise PictureError(path.name, "is not an ordinary file; name a video")
    if status.st_size == 0:
        raise PictureError(path.name, f"is empty; {_AGAIN}")
