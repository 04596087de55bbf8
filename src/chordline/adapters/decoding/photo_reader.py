"""Reads pictures in processes of their own, so that a hostile file ends one of these at worst."""

import atexit
import hashlib
import math
import os
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from functools import lru_cache
from pathlib import Path
from typing import Any, Final

from chordline.adapters.decoding.bounds import PHOTO_BOUNDS
from chordline.adapters.decoding.process import DecodingProcess
from chordline.adapters.decoding.shared_pixels import CAN_SHARE
from chordline.adapters.decoding.wire import BrokenOffError
from chordline.adapters.media.photo_reader import (
    MAX_PIXELS,
    MAX_WORKING_PX,
    PillowPhotoReader,
)
from chordline.application.ports import Photo
from chordline.errors import PictureError

_MODULE: Final = "chordline.adapters.decoding.photo_child"
_MOST_PIXEL_BYTES: Final = 3 * MAX_WORKING_PX**2
#: After so many pictures a process makes room for a fresh one: decoders may lose memory.
_MOST_PICTURES: Final = 500
_LONGEST_REASON: Final = 500
_CANNOT: Final = (
    "cannot be decoded; it is damaged, or made to do harm. Copy it from the phone again, or open "
    "it in a picture program and save it as a JPEG"
)


class ChildPhotoReader:
    """Implements `application.ports.PhotoReader` with processes that are bounded and may die.

    Parameters
    ----------
    at_once : int
        Most pictures that are decoded at the same time, each in a process that is kept for the
        next ones. A hundred megapixels take about 1.5 GB.
    """

    def __init__(self, *, at_once: int = 2) -> None:
        self._at_once = at_once
        self._places = threading.Semaphore(at_once)
        self._idle: list[_PhotoProcess] = []
        self._plain = PillowPhotoReader()
        atexit.register(self.close)
        if hasattr(os, "register_at_fork"):
            # Two processes must not talk with one decoder at a time.
            os.register_at_fork(after_in_child=self._idle.clear)

    def start(self) -> None:
        """Let a process come up while something else is done."""
        if not self._idle:
            self._idle.append(_PhotoProcess())

    def close(self) -> None:
        """End the processes that wait."""
        while self._idle:
            self._idle.pop().process.end()

    def read(self, path: Path) -> Photo:
        """Return the upright picture in a file; raise `PictureError` as `PillowPhotoReader`."""
        return self.read_content(path.name, self.content_of(path))

    def content_of(self, path: Path) -> bytes:
        """Return a file's bytes; raise `PictureError` where there are none, or too many."""
        return self._plain.content_of(path)

    def clean_jpeg(self, photo: Photo, *, max_px: int) -> bytes:
        """Return a JPEG without metadata; its pixels are ours already."""
        return self._plain.clean_jpeg(photo, max_px=max_px)

    def read_content(self, name: str, content: bytes) -> Photo:
        """Return the upright picture in a file's bytes.

        Raises
        ------
        PictureError
            As `PillowPhotoReader`, and where decoding takes too long, too much memory, or ends
            the process that does it.
        """
        self._plain.check_size(name, content)
        try:
            return self._ask(name, content)
        except _UsedProcessEndedError:
            # Perhaps it was not this picture's doing: the machine ran out of memory, say.
            try:
                return self._ask(name, content, fresh=True)
            except _UsedProcessEndedError:
                raise PictureError(name, _CANNOT) from None

    def _ask(self, name: str, content: bytes, *, fresh: bool = False) -> Photo:
        begun = time.monotonic()
        with self._process(fresh=fresh) as one:
            try:
                said, pixels, sha256 = one.ask(content)
                if "refused" in said:
                    raise PictureError(name, str(said["refused"])[:_LONGEST_REASON])
                return _photo(name, sha256, said, one, pixels)
            except BrokenOffError:
                one.broken = True
                in_time = time.monotonic() - begun < 0.5 * PHOTO_BOUNDS.wall_s
                if one.pictures > 1 and in_time:
                    raise _UsedProcessEndedError from None
                raise PictureError(name, _CANNOT) from None

    @contextmanager
    def _process(self, *, fresh: bool) -> Iterator["_PhotoProcess"]:
        with self._places:
            try:
                one = _PhotoProcess() if fresh else self._idle.pop()
            except IndexError:
                one = _PhotoProcess()
            if not one.process.is_alive():  # ended by somebody else while it waited
                one.process.end()
                one = _PhotoProcess()
            try:
                yield one
            except (PictureError, _UsedProcessEndedError):
                raise
            except BaseException:
                one.broken = True  # an answer may be under way to nobody
                raise
            finally:
                full = len(self._idle) >= self._at_once
                if one.broken or full or one.pictures >= _MOST_PICTURES:
                    one.process.end()
                else:
                    self._idle.append(one)


@lru_cache(maxsize=1)
def our_photo_reader() -> ChildPhotoReader:
    """Return the reader that everything in this process shares."""
    return ChildPhotoReader()


class _UsedProcessEndedError(Exception):
    """A process that had read other pictures before ended with this one."""


class _PhotoProcess:
    """A process, how many pictures it has had, and whether it can be asked again."""

    def __init__(self) -> None:
        self.process = DecodingProcess(_MODULE, shared_bytes=_MOST_PIXEL_BYTES)
        self.pictures = 0
        self.broken = False

    def ask(self, content: bytes) -> tuple[dict[str, Any], bytes, str]:
        """Return what it says, pixels that came through the pipe, and the content's SHA-256."""
        self.process.wait_until_ready()
        self.pictures += 1
        with self.process.within(PHOTO_BOUNDS.wall_s):
            self.process.send({}, content)
            # Worked out here, while the other decodes.
            sha256 = hashlib.sha256(content).hexdigest()
            said, pixels = self.process.receive(most_bytes=0 if CAN_SHARE else _MOST_PIXEL_BYTES)
        return said, pixels, sha256


def _photo(
    name: str, sha256: str, said: dict[str, Any], one: _PhotoProcess, pixels: bytes
) -> Photo:
    """Return the photo that a process tells of, none of its numbers believed unseen."""
    rgb = one.process.pixels.take(said.get("height"), said.get("width"), pixels)
    width_px, height_px = _size(said.get("width_px")), _size(said.get("height_px"))
    focal = said.get("focal_length_35mm")
    if focal is not None and not (
        isinstance(focal, float) and math.isfinite(focal) and focal > 0.0
    ):
        raise BrokenOffError
    return Photo(
        name=name,
        rgb=rgb,
        width_px=width_px,
        height_px=height_px,
        sha256=sha256,
        focal_length_35mm=focal,
    )


def _size(value: object) -> int:
    if not isinstance(value, int) or not 0 < value <= MAX_PIXELS:
        raise BrokenOffError
    return value
