"""A file that the decoding process has only by asking for its bytes."""

import io
import queue
import threading
from collections.abc import Callable
from typing import Any, Final

from chordline.adapters.decoding.wire import BrokenOffError

#: Most bytes that are asked for at once.
MOST_AT_ONCE: Final = 4_000_000


class BytesOnAsking:
    """Asks the other process for bytes, from whichever thread."""

    def __init__(self, say: Callable[[dict[str, Any]], None]) -> None:
        self._say = say
        self._answers: queue.Queue[bytes | None] = queue.Queue()
        self._one_at_a_time = threading.Lock()

    def answer(self, content: bytes | None) -> None:
        """Hand over what came; None = nobody will answer any more."""
        self._answers.put(content)

    def ask(self, at: int, size: int) -> bytes:
        """Return bytes of the file."""
        with self._one_at_a_time:
            self._say({"need": size, "at": at})
            content = self._answers.get()
            if content is None:
                self._answers.put(None)
                raise BrokenOffError
            return content


class AskedFile(io.RawIOBase):
    """A file of known size, to be read from and sought in."""

    def __init__(self, source: BytesOnAsking, size: int) -> None:
        self._source = source
        self._size = size
        self._at = 0

    def readable(self) -> bool:
        """Return True."""
        return True

    def seekable(self) -> bool:
        """Return True."""
        return True

    def seek(self, offset: int, whence: int = io.SEEK_SET) -> int:
        """Go to a place and return it."""
        start = {io.SEEK_SET: 0, io.SEEK_CUR: self._at, io.SEEK_END: self._size}[whence]
        self._at = max(0, start + offset)
        return self._at

    def tell(self) -> int:
        """Return the place."""
        return self._at

    def read(self, size: int | None = -1) -> bytes:
        """Return up to so many bytes; fewer only at the end."""
        left = max(0, self._size - self._at)
        wanted = left if size is None or size < 0 else min(size, left)
        pieces = []
        while wanted:
            piece = self._source.ask(self._at, min(wanted, MOST_AT_ONCE))
            if not piece:
                break
            pieces.append(piece)
            self._at += len(piece)
            wanted -= len(piece)
        return b"".join(pieces)

    def readall(self) -> bytes:
        """Return the rest."""
        return self.read()
