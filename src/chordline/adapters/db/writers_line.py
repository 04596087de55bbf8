"""Writers of one program wait in a line for SQLite's one place to write."""

import threading
from collections import deque
from collections.abc import Iterator
from contextlib import contextmanager

from chordline.errors import RecordsBusyError

#: Ten tablets that send at once on a slow disk all come through (assumption: a photo takes a
#: second there at worst) [s].
MOST_WAIT_S = 60.0


class WritersLine:
    """Lets one write at a time, in the order in which they came.

    SQLite lets whoever waits try again and again: who comes fresh may be quicker each time, until
    one of many has waited too long and is refused. Between programs that is left as it is.
    """

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._waiting: deque[threading.Event] = deque()
        self._taken = False

    @contextmanager
    def turn(self, within_s: float = MOST_WAIT_S) -> Iterator[None]:
        """Wait for one's turn and hold it; raise `RecordsBusyError` where it does not come."""
        self._wait(within_s)
        try:
            yield
        finally:
            with self._lock:
                if self._waiting:
                    self._waiting.popleft().set()
                else:
                    self._taken = False

    def _wait(self, within_s: float) -> None:
        with self._lock:
            if not self._taken:
                self._taken = True
                return
            mine = threading.Event()
            self._waiting.append(mine)
        if mine.wait(within_s):
            return
        with self._lock:
            if not mine.is_set():
                self._waiting.remove(mine)
                raise RecordsBusyError
