"""Worker processes on this machine."""

import multiprocessing
import os
import signal
import threading
from collections.abc import Iterator
from concurrent.futures import Executor, ProcessPoolExecutor
from contextlib import contextmanager
from typing import Final

#: A photo that runs and one that is ready, for each worker: nobody waits, little is held.
_EACH: Final = 2


class LocalProcesses:
    """Implements `Workers` with a pool of processes.

    Parameters
    ----------
    count : int
        How many; each measures with one thread.

    Notes
    -----
    They are spawned, not forked: this process has threads of the networks and of OpenCV, and a
    fork copies their locks but not the threads that would open them.
    """

    lost_again: tuple[type[Exception], ...] = ()

    def __init__(self, count: int) -> None:
        self._count = count

    @property
    def at_once(self) -> int:
        """How many photos to hand out at once."""
        return _EACH * self._count

    @contextmanager
    def open(self) -> Iterator[Executor]:
        """Start the processes; they end with the block."""
        with ProcessPoolExecutor(
            self._count,
            mp_context=multiprocessing.get_context("spawn"),
            initializer=_begin,
        ) as pool:
            yield pool

    def any_left(self) -> bool:
        """Return True: a pool that loses a process says so itself."""
        return True


def _begin() -> None:
    """Leave Ctrl-C to the parent, and do not outlive it."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    parent = multiprocessing.parent_process()
    if parent is not None:
        threading.Thread(target=_end_with, args=(parent,), daemon=True).start()


def _end_with(parent: multiprocessing.process.BaseProcess) -> None:
    parent.join()
    os._exit(1)
