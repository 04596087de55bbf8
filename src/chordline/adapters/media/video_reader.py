"""Opens video files with PyAV."""

import stat
from pathlib import Path
from typing import Final

from chordline.adapters.media.video_kind import is_video_file
from chordline.application.video_ports import Span, Video
from chordline.errors import PictureError

_AGAIN: Final = "copy it from the phone again"


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

    def open(self, path: Path, span: Span) -> Video:
        """Return the opened video; raise `PictureError` with a sentence that says what to do."""
        # The decoders take a tenth of a second to load; who measures photos does not wait for them.
        from chordline.adapters.media.video_file import AvVideo  # noqa: PLC0415

        _check_file(path)
        return AvVideo(path, span, longest_s=self._longest_s, threads=self._threads)


def _check_file(path: Path) -> None:
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
