"""The process that decodes videos: `python -m chordline.adapters.decoding.video_child FD`.

It has no file: the bytes of a video are asked for as the decoder wants them. Told to open one, to
read its frames or one picture, it answers on its standard output until its standard input ends.
"""

import io
import queue
import sys
import threading
from typing import Any, BinaryIO, Final, cast

import av
import numpy as np

from chordline.adapters.decoding.asked_bytes import AskedFile, BytesOnAsking
from chordline.adapters.decoding.bounds import VIDEO_BOUNDS, allow_cpu, bind, offer_to_be_killed
from chordline.adapters.decoding.shared_pixels import GivenPixels
from chordline.adapters.decoding.video_wire import MOST_DATA_BYTES, SLOT_BYTES, SLOTS
from chordline.adapters.decoding.wire import BrokenOffError, receive, send
from chordline.adapters.media.video_file import AvVideo
from chordline.application.video_ports import Span, VideoSource
from chordline.errors import PictureError

_NAME: Final = "video"


class _VideoServer:
    """Does what it is told, one thing at a time, while a thread listens."""

    def __init__(self, fd: int) -> None:
        self._given = GivenPixels(fd)
        self._writing = threading.Lock()
        self._bytes = BytesOnAsking(self._say)
        self._todo: queue.Queue[dict[str, Any] | None] = queue.Queue()
        self._free = threading.Semaphore(0)
        self._stop = threading.Event()
        self._video: AvVideo | None = None

    def serve(self) -> None:
        """Answer until nobody asks any more."""
        threading.Thread(target=self._listen, daemon=True).start()
        self._say({"ready": True})
        while (told := self._todo.get()) is not None:
            try:
                self._do(told)
            except PictureError as error:
                self._say({"refused": error.reason, **self._told()})
            except BrokenOffError:
                return
            except Exception:  # decoders and their binding meet damage with any exception
                self._say({"failed": True, **self._told()})

    def _listen(self) -> None:
        while True:
            try:
                told, content = receive(sys.stdin.buffer, most_bytes=MOST_DATA_BYTES)
            except BrokenOffError:
                self._stop.set()
                self._free.release()
                self._bytes.answer(None)
                self._todo.put(None)
                return
            match told.get("do"):
                case "data":
                    self._bytes.answer(content)
                case "next":
                    self._free.release()
                case "stop":
                    self._stop.set()
                    self._free.release()
                case _:
                    self._todo.put(told)

    def _do(self, told: dict[str, Any]) -> None:
        match told["do"]:
            case "open":
                self._open(told)
            case "frames":
                self._frames(told["after_s"])
            case "photo":
                self._photo(told["t_s"])

    def _open(self, told: dict[str, Any]) -> None:
        allow_cpu(VIDEO_BOUNDS.cpu_s)
        self._video = None
        size = told["size"]
        source = VideoSource(
            name=_NAME,
            open=lambda: cast(BinaryIO, AskedFile(self._bytes, size)),
            sha256="",
        )
        span = Span(told["from_s"], told["to_s"])
        video = AvVideo(source, span, longest_s=told["longest_s"], threads=told["threads"])
        self._video = video
        self._say(
            {
                "width_px": video.width_px,
                "height_px": video.height_px,
                "working_width_px": video.working_width_px,
                "expected_frames": video.expected_frames,
                "duration_s": video.duration_s,
                "rate_hz": video.rate_hz,
                **self._told(),
            }
        )

    def _frames(self, after_s: float | None) -> None:
        assert self._video is not None
        self._stop.clear()
        self._free = threading.Semaphore(SLOTS)
        frames = self._video.frames(after_s=after_s)
        try:
            for number, frame in enumerate(frames):
                self._free.acquire()
                if self._stop.is_set():
                    break
                at_byte = number % SLOTS * SLOT_BYTES
                self._show("frame", frame.rgb, {"t_s": frame.t_s, "at_byte": at_byte})
        finally:
            close = getattr(frames, "close", None)
            if close is not None:
                close()
        self._say({"end": True, **self._told()})

    def _photo(self, t_s: float) -> None:
        assert self._video is not None
        self._show("photo", self._video.photo_at(t_s).rgb, {"at_byte": 0, **self._told()})

    def _show(self, what: str, rgb: np.ndarray, said: dict[str, Any]) -> None:
        height, width = rgb.shape[:2]
        pixels = self._given.lay(rgb, at_byte=said["at_byte"])
        self._say({what: True, "height": height, "width": width, **said}, pixels)

    def _told(self) -> dict[str, Any]:
        return {} if self._video is None else {"told": self._video.told.sentences}

    def _say(self, said: dict[str, Any], content: bytes | memoryview = b"") -> None:
        with self._writing:
            send(sys.stdout.buffer, said, content)


def _load_late_parts() -> None:
    """Read a small video, so that what is loaded on first use is loaded before nothing can be."""
    av.logging.set_level(None)
    made = io.BytesIO()
    with av.open(made, "w", format="avi") as container:
        stream = container.add_stream("mjpeg", rate=10)
        stream.width = stream.height = 64
        stream.pix_fmt = "yuvj420p"
        frame = av.VideoFrame.from_ndarray(np.zeros((64, 64, 3), np.uint8), format="rgb24")
        container.mux(stream.encode(frame))
        container.mux(stream.encode())
    source = VideoSource(_NAME, lambda: io.BytesIO(made.getvalue()), "")
    video = AvVideo(source, Span(), longest_s=10.0, threads=2)
    list(video.frames())
    video.photo_at(0.0)


if __name__ == "__main__":
    server = _VideoServer(int(sys.argv[1]))
    _load_late_parts()
    offer_to_be_killed()
    bind(VIDEO_BOUNDS)
    server.serve()
