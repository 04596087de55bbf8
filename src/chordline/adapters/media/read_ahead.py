"""Runs an iterator in a thread of its own, a few steps ahead of who takes from it."""

import queue
import threading
from collections.abc import Iterator
from typing import Final, TypeVar

_T = TypeVar("_T")
#: How often a waiting thread looks whether it should stop [s].
_LOOK_S: Final = 0.1


class _End:
    """What comes after the last: an exception, or nothing."""

    def __init__(self, error: BaseException | None) -> None:
        self.error = error


def read_ahead(source: Iterator[_T], *, depth: int) -> Iterator[_T]:
    """Yield what a source yields, made up to `depth` steps ahead.

    Exceptions of the source come out here. When the taker stops early the thread ends with it.
    """
    line: queue.Queue[_T | _End] = queue.Queue(maxsize=depth)
    stop = threading.Event()

    def put(one: _T | _End) -> None:
        while not stop.is_set():
            try:
                line.put(one, timeout=_LOOK_S)
            except queue.Full:
                continue
            return

    def run() -> None:
        error: BaseException | None = None
        try:
            for one in source:
                put(one)
                if stop.is_set():
                    break
        except BaseException as caught:
            error = caught
        finally:
            # A generator is closed in the thread that runs it.
            close = getattr(source, "close", None)
            if close is not None:
                close()
        put(_End(error))

    thread = threading.Thread(target=run, name="chordline-read-ahead", daemon=True)
    thread.start()
    try:
        while True:
            one = line.get()
            if isinstance(one, _End):
                if one.error is not None:
                    raise one.error
                return
            yield one
    finally:
        stop.set()
        thread.join()
