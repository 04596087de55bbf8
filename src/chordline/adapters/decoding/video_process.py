"""A process that decodes one video after another, seen from here."""

import threading
import time
from typing import Any, BinaryIO, Final

from chordline.adapters.decoding.bounds import VIDEO_BOUNDS
from chordline.adapters.decoding.process import DecodingProcess
from chordline.adapters.decoding.shared_pixels import CAN_SHARE, Pixels
from chordline.adapters.decoding.video_wire import MOST_DATA_BYTES, SHARED_BYTES
from chordline.adapters.decoding.wire import BrokenOffError
from chordline.application.video_ports import Told

_MODULE: Final = "chordline.adapters.decoding.video_child"
#: So much of the file, never read before, counts as getting on [bytes].
_GETTING_ON_BYTES: Final = 1_000_000
#: How often it is looked whether the process is stuck [s].
_LOOK_S: Final = 0.25
_MOST_SENTENCES: Final = 20
_LONGEST_SENTENCE: Final = 300


class VideoProcess:
    """Answers what the process needs of the file, and kills it where it gets stuck."""

    def __init__(self) -> None:
        self.process = DecodingProcess(_MODULE, shared_bytes=SHARED_BYTES)
        self._deadline: float | None = None
        self._read_up_to = 0
        self._counted_up_to = 0
        self._ended = threading.Event()

    def start_watching(self) -> None:
        """Wait until it is ready for videos."""
        self.process.wait_until_ready()
        threading.Thread(target=self._watch, daemon=True, name="chordline-watch-decoder").start()

    def begin(self) -> None:
        """Forget the file before: another one is opened."""
        self._read_up_to = self._counted_up_to = 0

    def tell(self, **told: Any) -> None:
        """Tell it what to do."""
        self.process.send(told)

    def hear(self, content: BinaryIO, told: Told) -> tuple[dict[str, Any], bytes]:
        """Return its next answer, having given it the bytes that it asked for until then.

        Raises `BrokenOffError` where it died, got stuck, or says what cannot be.
        """
        self._deadline = time.monotonic() + VIDEO_BOUNDS.wall_s
        try:
            while True:
                said, pixels = self.process.receive(most_bytes=0 if CAN_SHARE else SHARED_BYTES)
                if "need" not in said:
                    break
                self._give(said, content)
        finally:
            self._deadline = None
        _pass_on(said.get("told"), told)
        return said, pixels

    def picture(self, said: dict[str, Any], pixels: bytes) -> Pixels:
        """Return the picture of an answer."""
        at_byte = said.get("at_byte")
        if not isinstance(at_byte, int):
            raise BrokenOffError
        shared_at = at_byte if CAN_SHARE else 0
        return self.process.pixels.take(
            said.get("height"), said.get("width"), pixels, at_byte=shared_at
        )

    def end(self) -> None:
        """Kill it."""
        self._ended.set()
        self.process.end()

    def _give(self, said: dict[str, Any], content: BinaryIO) -> None:
        size, at = said["need"], said.get("at")
        if not (isinstance(size, int) and isinstance(at, int) and at >= 0):
            raise BrokenOffError
        if not 0 <= size <= MOST_DATA_BYTES:
            raise BrokenOffError
        try:
            content.seek(at)
            found = content.read(size)
        except (OSError, ValueError):
            found = b""
        self._read_up_to = max(self._read_up_to, at + len(found))
        if self._read_up_to >= self._counted_up_to + _GETTING_ON_BYTES:
            self._counted_up_to = self._read_up_to
            self._deadline = time.monotonic() + VIDEO_BOUNDS.wall_s
        self.process.send({"do": "data"}, found)

    def _watch(self) -> None:
        while not self._ended.wait(_LOOK_S):
            deadline = self._deadline
            if deadline is not None and time.monotonic() > deadline:
                self.process.kill()
                return


def _pass_on(sentences: object, told: Told) -> None:
    if not isinstance(sentences, list):
        return
    for sentence in sentences[:_MOST_SENTENCES]:
        if isinstance(sentence, str):
            told.say(sentence[:_LONGEST_SENTENCE])
