"""Reads videos in processes of their own, so that a hostile file ends one of these at worst."""

import atexit
import math
import os
import threading
import weakref
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any, BinaryIO, Final

from chordline.adapters.decoding.video_process import VideoProcess
from chordline.adapters.decoding.wire import BrokenOffError
from chordline.adapters.media.file_hash import DiskFileHasher
from chordline.adapters.media.read_ahead import read_ahead
from chordline.adapters.media.video_reader import AvVideoReader, check_file
from chordline.application.club.video_records import VideoFacts
from chordline.application.ports import Photo
from chordline.application.video_ports import Span, Told, Video, VideoFrame, VideoInput
from chordline.errors import PictureError

#: Frames that are copied and wait for the one who takes them.
_READ_AHEAD: Final = 3
#: Processes that are kept for the next video.
_MOST_IDLE: Final = 1
_A_MOMENT_S: Final = 1.0
_BROKEN: Final = "is broken, or made to do harm: it cannot be decoded. Copy it from the phone again"
_REST_BROKEN: Final = "the rest of it cannot be decoded; copy it from the phone again"


class ChildVideoReader:
    """Implements `application.video_ports.VideoReader` with processes that may die.

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
        self._plain = AvVideoReader(longest_s=longest_s, threads=threads)

    def is_video(self, path: Path) -> bool:
        """Return whether a file is to be read as a video."""
        return self._plain.is_video(path)

    def check_head(self, name: str, head: bytes) -> None:
        """Raise `PictureError` where the first bytes of a file are no video's."""
        self._plain.check_head(name, head)

    def describe(self, video: VideoInput) -> VideoFacts:
        """Return what a video says of itself, however long it is."""
        return self._open(video, Span(to_s=_A_MOMENT_S)).facts

    def open(self, video: VideoInput, span: Span) -> Video:
        """Return the opened video; raise `PictureError` with a sentence that says what to do."""
        return self._open(video, span)

    def _open(self, video: VideoInput, span: Span) -> "ChildVideo":
        if isinstance(video, Path):
            check_file(video)
        return ChildVideo(video, span, longest_s=self._longest_s, threads=self._threads)


class ChildVideo:
    """Implements `application.video_ports.Video`."""

    def __init__(self, video: VideoInput, span: Span, *, longest_s: float, threads: int) -> None:
        self._video = video
        self._span = span
        self._longest_s = longest_s
        self._threads = threads
        self.told = Told()
        self._sha256 = None if isinstance(video, Path) else video.sha256
        self._busy = threading.Lock()
        self._decoder = _take_decoder()
        self._let_go = weakref.finalize(self, _give_back, self._decoder)
        self.facts, self._expected_frames = self._begin()

    @property
    def name(self) -> str:
        """File name without folders."""
        return self._video.name

    @property
    def sha256(self) -> str:
        """Of the file's bytes."""
        if self._sha256 is None:
            assert isinstance(self._video, Path)
            self._sha256 = DiskFileHasher().sha256_of(self._video)
        return self._sha256

    @property
    def width_px(self) -> int:
        """Width of the full upright frame, pixels made square."""
        return self.facts.width_px

    @property
    def height_px(self) -> int:
        """Height of the full upright frame, pixels made square."""
        return self.facts.height_px

    @property
    def working_width_px(self) -> int:
        """Width of the frames' pictures."""
        return self.facts.working_width_px

    @property
    def expected_frames(self) -> int:
        """About how many frames there will be; 0 where the file does not say."""
        return self._expected_frames

    def frames(self, *, after_s: float | None = None) -> Iterator[VideoFrame]:
        """Yield the frames of the span, or those after a time; decoded in another process."""
        if self._busy.locked():
            return self._once_more().frames(after_s=after_s)
        return read_ahead(self._frames(after_s), depth=_READ_AHEAD)

    def photo_at(self, t_s: float) -> Photo:
        """Return the frame at or next after a time in full size, or the last one before it."""
        if self._busy.locked():
            return self._once_more().photo_at(t_s)
        with self._at_work() as content:
            self._decoder.tell(do="photo", t_s=t_s)
            said, pixels = self._hear(content)
            rgb = self._decoder.picture(said, pixels)
        return Photo(
            name=self.name,
            rgb=rgb,
            width_px=self.width_px,
            height_px=self.height_px,
            sha256=self.sha256,
            focal_length_35mm=None,
        )

    def _once_more(self) -> "ChildVideo":
        """Return the same video in another process: this one is reading frames."""
        return ChildVideo(self._video, self._span, longest_s=self._longest_s, threads=self._threads)

    def _begin(self) -> tuple[VideoFacts, int]:
        with self._at_work() as content:
            content.seek(0, os.SEEK_END)
            self._decoder.begin()
            self._decoder.tell(
                do="open",
                size=content.tell(),
                from_s=self._span.from_s,
                to_s=self._span.to_s,
                longest_s=self._longest_s,
                threads=self._threads,
            )
            said, _ = self._hear(content)
            return _facts(said)

    def _frames(self, after_s: float | None) -> Iterator[VideoFrame]:
        any_frame = after_s is not None
        try:
            with self._at_work() as content:
                self._decoder.tell(do="frames", after_s=after_s)
                more = True
                try:
                    while more:
                        said, pixels = self._decoder.hear(content, self.told)
                        more = "frame" in said
                        if more:
                            rgb = self._decoder.picture(said, pixels)
                            frame = VideoFrame(_number(said.get("t_s")), rgb)
                            any_frame = True
                            # It counts though its process has died since: who listens next hears.
                            with suppress(BrokenOffError):
                                self._decoder.tell(do="next")
                            yield frame
                except BrokenOffError:
                    more = False
                    raise
                finally:
                    if more:  # nobody wants the rest
                        self._stop(content)
                self._check(said)
        except _BrokenError:
            if not any_frame:
                raise
            self.told.say(_REST_BROKEN)

    def _stop(self, content: BinaryIO) -> None:
        """Leave the process ready for the next question, or end it."""
        try:
            self._decoder.tell(do="stop")
            while True:
                said, _ = self._decoder.hear(content, Told())
                if "frame" not in said:
                    return
        except BrokenOffError:
            self._decoder.end()

    def _hear(self, content: BinaryIO) -> tuple[dict[str, Any], bytes]:
        said, pixels = self._decoder.hear(content, self.told)
        self._check(said)
        return said, pixels

    def _check(self, said: dict[str, Any]) -> None:
        """Raise where an answer is none."""
        if "refused" in said:
            raise PictureError(self.name, str(said["refused"])[:500])
        if "failed" in said:
            raise BrokenOffError

    @contextmanager
    def _at_work(self) -> Iterator[BinaryIO]:
        with self._busy:
            if not self._decoder.process.is_alive():
                raise _BrokenError(self.name, _BROKEN)
            try:
                video = self._video
                content = video.open("rb") if isinstance(video, Path) else video.open()
            except OSError as error:
                raise PictureError(self.name, f"cannot be opened ({error.strerror})") from None
            with content:
                try:
                    yield content
                except BrokenOffError:
                    self._decoder.end()
                    raise _BrokenError(self.name, _BROKEN) from None


class _BrokenError(PictureError):
    """A video that ended its decoder, or got it stuck."""


def _facts(said: dict[str, Any]) -> tuple[VideoFacts, int]:
    """Return what a process says of a video, none of its numbers believed unseen."""
    duration = said.get("duration_s")
    facts = VideoFacts(
        duration_s=None if duration is None else _number(duration),
        width_px=_count(said.get("width_px")),
        height_px=_count(said.get("height_px")),
        working_width_px=_count(said.get("working_width_px")),
        rate_hz=_number(said.get("rate_hz")),
    )
    return facts, _count(said.get("expected_frames"))


def _count(value: object) -> int:
    if not isinstance(value, int) or not 0 <= value < 2**31:
        raise BrokenOffError
    return value


def _number(value: object) -> float:
    if not isinstance(value, (int, float)) or not math.isfinite(value):
        raise BrokenOffError
    return float(value)


_idle: list[VideoProcess] = []


def _take_decoder() -> VideoProcess:
    while _idle:
        one = _idle.pop()
        if one.process.is_alive():
            return one
        one.end()
    one = VideoProcess()
    one.start_watching()
    return one


def _give_back(decoder: VideoProcess) -> None:
    if decoder.process.is_alive() and len(_idle) < _MOST_IDLE:
        _idle.append(decoder)
    else:
        decoder.end()


def _end_idle() -> None:
    while _idle:
        _idle.pop().end()


atexit.register(_end_idle)
if hasattr(os, "register_at_fork"):
    # Two processes must not talk with one decoder at a time.
    os.register_at_fork(after_in_child=_idle.clear)
