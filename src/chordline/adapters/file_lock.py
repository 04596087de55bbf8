"""A lock on a file, across processes; one that is killed lets go of it."""

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

if sys.platform == "win32":
    import msvcrt

    def _take(handle: int, *, wait: bool) -> None:
        msvcrt.locking(handle, msvcrt.LK_LOCK if wait else msvcrt.LK_NBLCK, 1)

else:
    import fcntl

    def _take(handle: int, *, wait: bool) -> None:
        fcntl.flock(handle, fcntl.LOCK_EX | (0 if wait else fcntl.LOCK_NB))


class HeldError(Exception):
    """Somebody else holds the lock."""


@contextmanager
def file_lock(place: Path, *, wait: bool) -> Iterator[None]:
    """Hold a lock; the file is made where there is none, and stays.

    Raises
    ------
    HeldError
        Where somebody else holds it and is not waited for.
    OSError
        Where the file cannot be opened.
    """
    handle = os.open(place, os.O_RDWR | os.O_CREAT, 0o600)
    try:
        try:
            _take(handle, wait=wait)
        except OSError:
            raise HeldError from None
        yield
    finally:
        os.close(handle)
