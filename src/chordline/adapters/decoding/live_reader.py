"""Frames of live cameras, read in a process of its own: a hostile one ends that at worst."""

import atexit
import os
import threading
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from chordline.adapters.decoding.bounds import LIVE_BOUNDS
from chordline.adapters.decoding.process import DecodingProcess
from chordline.adapters.decoding.shared_pixels import CAN_SHARE
from chordline.adapters.decoding.wire import BrokenOffError
from chordline.errors import PictureError

_MODULE: Final = "chordline.adapters.decoding.live_child"
_NAME: Final = "live picture"
_LONGEST_REASON: Final = 500


class ChildFrameReader:
    """Implements `application.live.ports.FrameReader` with a process that is bounded and may die.

    One process for all cameras: a frame is decoded in a few milliseconds. Where a frame ends it,
    that frame is refused, and the next one gets a fresh process.

    Parameters
    ----------
    most_bytes, most_px : int
        Larger frames are refused.
    """

    def __init__(self, *, most_bytes: int, most_px: int) -> None:
        self._most_bytes = most_bytes
        self._most_px = most_px
        self._lock = threading.Lock()
        self._process: DecodingProcess | None = None
        atexit.register(self.close)
        if hasattr(os, "register_at_fork"):
            # Two processes must not talk with one decoder at a time.
            os.register_at_fork(after_in_child=self._forget)

    def start(self) -> None:
        """Let the process come up while something else is done."""
        with self._lock:
            self._alive()

    def close(self) -> None:
        """End the process; the next frame gets another."""
        with self._lock:
            self._end()

    def read_frame(self, content: bytes) -> NDArray[np.uint8]:
        """Return the (h, w, 3) picture.

        Raises
        ------
        PictureError
            As `JpegFrameReader`, and where decoding takes too long, too much memory, or ends the
            process that does it.
        """
        if len(content) > self._most_bytes:
            raise PictureError(_NAME, "is too large; send at most 640 pixels")
        with self._lock:
            process = self._alive()
            try:
                said, pixels = self._ask(process, content)
                if "refused" not in said:
                    height, width = said.get("height"), said.get("width")
                    return process.pixels.take(height, width, pixels)
            except BrokenOffError:
                self._end()
                raise PictureError(_NAME, "cannot be decoded; send the next one") from None
            except BaseException:
                self._end()  # an answer may be under way to nobody
                raise
        raise PictureError(_NAME, str(said["refused"])[:_LONGEST_REASON])

    def _ask(self, process: DecodingProcess, content: bytes) -> tuple[dict[str, object], bytes]:
        process.wait_until_ready()
        with process.within(LIVE_BOUNDS.wall_s):
            process.send({}, content)
            return process.receive(most_bytes=0 if CAN_SHARE else 3 * self._most_px)

    def _alive(self) -> DecodingProcess:
        if self._process is not None and not self._process.is_alive():
            self._end()
        if self._process is None:
            self._process = DecodingProcess(
                _MODULE,
                shared_bytes=3 * self._most_px,
                told=(str(self._most_bytes), str(self._most_px)),
            )
        return self._process

    def _end(self) -> None:
        if self._process is not None:
            self._process.end()
            self._process = None

    def _forget(self) -> None:
        self._lock = threading.Lock()  # its holder was not forked
        self._process = None


@lru_cache(maxsize=4)
def our_frame_reader(*, most_bytes: int, most_px: int) -> ChildFrameReader:
    """Return the reader that everything in this process shares."""
    return ChildFrameReader(most_bytes=most_bytes, most_px=most_px)
