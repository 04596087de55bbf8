"""One video file: upright frames with square pixels, without metadata."""

import math
from collections.abc import Iterator
from contextlib import contextmanager
from fractions import Fraction
from pathlib import Path
from typing import BinaryIO, Final

import av
from av.container import InputContainer
from av.error import FFmpegError
from av.stream import Disposition
from av.video.stream import VideoStream

from chordline.adapters.media.file_hash import DiskFileHasher
from chordline.adapters.media.photo_reader import MAX_WORKING_PX
from chordline.adapters.media.read_ahead import read_ahead
from chordline.adapters.media.video_kind import HEAD_BYTES, check_kind
from chordline.adapters.media.video_picture import (
    Size,
    Turn,
    fit_size,
    lies_on_its_side,
    picture_of,
    square_size,
    turn_of,
)
from chordline.application.ports import Photo
from chordline.application.video_ports import Span, Told, VideoFrame, VideoInput
from chordline.errors import PictureError

#: Long side of the frames that are tracked [px]: the network looks at 256 px of a body.
TRACKING_PX: Final = 960
#: Largest frame side and area [px], and smallest side that is worth reading.
MAX_SIDE_PX: Final = 8192
MAX_FRAME_PIXELS: Final = 34_000_000
MIN_SIDE_PX: Final = 64
#: Faster videos are thinned: bodies hold nothing that 60 frames a second do not show.
MAX_RATE_HZ: Final = 60.0
_READ_AHEAD: Final = 6
#: What is missing at the end beyond this counts as cut off [s].
_CUT_OFF_S: Final = 1.0
#: Read from a stored video at once [bytes].
_AT_ONCE: Final = 256 * 1024
_AGAIN: Final = "copy it from the phone again"


class AvVideo:
    """Implements `application.video_ports.Video`.

    The file is opened anew for each reading, so that nothing stays open between them.
    """

    def __init__(self, video: VideoInput, span: Span, *, longest_s: float, threads: int) -> None:
        self._video = video
        self._threads = threads
        self._longest_s = longest_s
        with _bytes_of(video) as content:
            self._container = check_kind(video.name, content.read(HEAD_BYTES))
        self.told = Told()
        with self._opened() as (container, stream):
            self._duration_s = _duration_s(container, stream)
            self._rate_hz = float(stream.average_rate or stream.guessed_rate or 0.0)
            _check_frame(video.name, stream.width, stream.height)
        self._from_s, self._to_s = self._plan_span(span)
        first = self._first_frame()
        self._aspect, self._turn = self._sample_aspect(), turn_of(first)
        self._stored: Size = square_size(first, self._aspect)
        self._stored_px: Size = (first.width, first.height)
        self._sha256 = None if isinstance(video, Path) else video.sha256

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
    def duration_s(self) -> float | None:
        """Length of the whole video [s]; None where it does not say it."""
        return self._duration_s

    @property
    def rate_hz(self) -> float:
        """Frames a second, as the file says."""
        return self._rate_hz

    @property
    def width_px(self) -> int:
        """Width of the full upright frame, pixels made square."""
        return _turned(self._stored, self._turn)[0]

    @property
    def height_px(self) -> int:
        """Height of the full upright frame, pixels made square."""
        return _turned(self._stored, self._turn)[1]

    @property
    def working_width_px(self) -> int:
        """Width of the frames' pictures."""
        return _turned(fit_size(self._stored, TRACKING_PX), self._turn)[0]

    @property
    def expected_frames(self) -> int:
        """About how many frames there will be; 0 where the file does not say."""
        end = self._to_s if self._to_s is not None else self._duration_s
        if end is None or not math.isfinite(end):
            return 0
        return round((end - self._from_s) * min(self._rate_hz, MAX_RATE_HZ))

    def frames(self, *, after_s: float | None = None) -> Iterator[VideoFrame]:
        """Yield the frames of the span, or those after a time; decoded in a thread of their own."""
        return read_ahead(self._frames(after_s), depth=_READ_AHEAD)

    def photo_at(self, t_s: float) -> Photo:
        """Return the frame at or next after a time in full size, or the last one before it."""
        slack = 0.5 / self._rate_hz if self._rate_hz > 0.0 else 0.0
        chosen = None
        for at, frame in self._decoded(t_s):
            chosen = frame
            if at >= t_s - slack:
                break
        if chosen is None:
            raise PictureError(self.name, f"its frame at {t_s:.1f} s cannot be read; {_AGAIN}")
        size = fit_size(self._stored, MAX_WORKING_PX)
        return Photo(
            name=self.name,
            rgb=picture_of(chosen, size, self._turn),
            width_px=self.width_px,
            height_px=self.height_px,
            sha256=self.sha256,
            focal_length_35mm=None,
        )

    def _frames(self, after_s: float | None) -> Iterator[VideoFrame]:
        size = fit_size(self._stored, TRACKING_PX)
        step_s, slack_s = 0.0, 0.0
        if self._rate_hz > 1.05 * MAX_RATE_HZ:
            step_s, slack_s = 1.0 / MAX_RATE_HZ, 0.5 / self._rate_hz
            self.told.say(
                f"{self._rate_hz:.0f} frames a second were thinned to at most {MAX_RATE_HZ:.0f}"
            )
        last = -math.inf if after_s is None else after_s
        start = self._from_s if after_s is None else max(self._from_s, after_s)
        end = self._to_s if self._to_s is not None else self._from_s + self._longest_s
        any_frame, reached = after_s is not None, start
        for at, frame in self._decoded(start):
            if at > end + 1e-6:
                if self._to_s is None:
                    self.told.say(
                        f"only {self._longest_s / 60.0:g} minutes were read; name another part "
                        "with --from and --to"
                    )
                break
            if at < self._from_s - 1e-6 or at <= last + max(step_s - slack_s, 1e-6):
                continue
            if (frame.width, frame.height) != self._stored_px:
                self.told.say("its picture changes size; such frames are left out")
                continue
            last, any_frame = at, True
            yield VideoFrame(at, picture_of(frame, size, self._turn))
            reached = at
        else:
            self._tell_cut_off(reached, end)
        if not any_frame:
            raise PictureError(
                self.name, f"holds no picture that can be read; it may be protected, or {_AGAIN}"
            )

    def _tell_cut_off(self, reached: float, end: float) -> None:
        whole = min(end, self._duration_s) if self._duration_s is not None else None
        if whole is not None and reached < whole - max(_CUT_OFF_S, 2.0 / max(self._rate_hz, 1.0)):
            self.told.say(
                f"the file is cut off: only {reached:.1f} s of {whole:.1f} s can be read; {_AGAIN}"
            )

    def _decoded(self, start_s: float) -> Iterator[tuple[float, av.VideoFrame]]:
        """Yield time and frame from the last key frame before a time on, damage left out."""
        with self._opened() as (container, stream):
            base = stream.time_base or Fraction(1, 1000)
            zero = stream.start_time or 0
            if start_s > 0.0:
                try:
                    container.seek(zero + int(start_s / base), stream=stream)
                except FFmpegError:
                    # Some containers cannot seek; from the start it takes longer, no more.
                    container.seek(0)
            counted = 0
            for frame in self._each_frame(container, stream):
                if frame.pts is not None:
                    at = float((frame.pts - zero) * base)
                elif self._rate_hz > 0.0 and start_s <= 0.0:
                    at = counted / self._rate_hz
                else:
                    continue
                counted += 1
                yield at, frame

    def _each_frame(
        self, container: InputContainer, stream: VideoStream
    ) -> Iterator[av.VideoFrame]:
        packets = container.demux(stream)
        while True:
            try:
                packet = next(packets)
            except StopIteration:
                return
            except FFmpegError:
                self.told.say(f"its end is damaged; {_AGAIN}")
                return
            try:
                yield from packet.decode()
            except FFmpegError:
                self.told.say(f"some frames are damaged and were left out; {_AGAIN}")

    @contextmanager
    def _opened(self) -> Iterator[tuple[InputContainer, VideoStream]]:
        name = self.name
        with _bytes_of(self._video) as content:
            try:
                container = av.open(
                    content,
                    "r",
                    format=self._container,
                    # Bytes that name other bytes (a playlist, an outside track) lead nowhere.
                    container_options={"protocol_whitelist": "none"},
                    metadata_errors="ignore",
                    buffer_size=_AT_ONCE,
                )
            except FFmpegError:
                raise PictureError(
                    name, f"cannot be opened: its index is missing or damaged; {_AGAIN}"
                ) from None
            except OSError as error:
                raise PictureError(name, f"cannot be opened ({error.strerror})") from None
            with container:
                stream = _stream_of(name, container, content)
                stream.thread_type = "AUTO"
                stream.codec_context.thread_count = self._threads
                yield container, stream

    def _plan_span(self, span: Span) -> tuple[float, float | None]:
        """Return the checked beginning and end [s]; None = to the end, whose time is not known."""
        begin = span.from_s or 0.0
        whole = self._duration_s
        if span.to_s is not None and span.to_s <= begin:
            raise PictureError(self.name, "--to must lie after --from")
        if whole is not None and begin >= whole:
            raise PictureError(
                self.name, f"is {whole:.1f} s long; --from {begin:g} lies after its end"
            )
        end = span.to_s
        if whole is not None:
            end = whole if end is None else min(end, whole)
        if end is not None and end - begin > self._longest_s:
            raise PictureError(
                self.name,
                f"is {_in_words(end - begin)} long; at most {_in_words(self._longest_s)} can be "
                "measured at once. Trim it first, or name a part with --from and --to",
            )
        return begin, None if span.to_s is None and whole is None else end

    def _first_frame(self) -> av.VideoFrame:
        for _, frame in self._decoded(self._from_s):
            return frame
        raise PictureError(
            self.name, f"holds no picture that can be read; it may be protected, or {_AGAIN}"
        )

    def _sample_aspect(self) -> Fraction | None:
        with self._opened() as (_, stream):
            return stream.sample_aspect_ratio or stream.codec_context.sample_aspect_ratio


@contextmanager
def _bytes_of(video: VideoInput) -> Iterator[BinaryIO]:
    """Yield the bytes of a video, to be read from and sought in."""
    try:
        content = video.open("rb") if isinstance(video, Path) else video.open()
    except OSError as error:
        raise PictureError(video.name, f"cannot be opened ({error.strerror})") from None
    with content:
        yield content


def _stream_of(name: str, container: InputContainer, content: BinaryIO) -> VideoStream:
    videos = [
        one for one in container.streams.video if not one.disposition & Disposition.attached_pic
    ]
    if not videos:
        what = "only sound" if container.streams.audio else "no picture"
        raise PictureError(name, f"holds {what}; send the video itself")
    stream = videos[0]
    try:
        codec = stream.codec_context
    except FFmpegError:
        codec = None
    if codec is None or codec.codec_tag in ("encv", "drmi"):
        protected = codec is not None or _is_encrypted(content)
        raise PictureError(
            name,
            "is protected against copying and cannot be read; film it yourself"
            if protected
            else "is stored in a way that cannot be read; set the camera to 'most compatible' "
            "(H.264) and send it again",
        )
    return stream


def _is_encrypted(content: BinaryIO) -> bool:
    """Return whether the file's head or end names an encrypted video entry."""
    try:
        content.seek(0)
        head = content.read(1_000_000)
        content.seek(0, 2)
        content.seek(max(0, content.tell() - 1_000_000))
        return b"encv" in head or b"encv" in content.read()
    except OSError:
        return False


def _check_frame(name: str, width: int, height: int) -> None:
    if width <= 0 or height <= 0:
        raise PictureError(name, f"does not say how large its pictures are; {_AGAIN}")
    if max(width, height) > MAX_SIDE_PX or width * height > MAX_FRAME_PIXELS:
        raise PictureError(
            name, f"is {width} × {height} pixels; set the camera to 1080p, which is plenty"
        )
    if min(width, height) < MIN_SIDE_PX:
        raise PictureError(
            name,
            f"is {width} × {height} pixels; that is too little to measure a body. "
            "Send the original video",
        )


def _duration_s(container: InputContainer, stream: VideoStream) -> float | None:
    """Return the length [s] as far as the file says it."""
    if stream.duration and stream.time_base:
        return float(stream.duration * stream.time_base)
    whole = container.duration
    return whole / 1e6 if whole and whole > 0 else None


def _turned(size: Size, turn: Turn) -> Size:
    return (size[1], size[0]) if lies_on_its_side(turn) else size


def _in_words(seconds: float) -> str:
    return f"{seconds / 60.0:.0f} minutes" if seconds >= 90.0 else f"{seconds:.0f} s"
