"""One at a time, across processes: locks on files that a killed process lets go of."""

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from chordline.errors import BackupError

if sys.platform == "win32":
    import msvcrt

    def _take(handle: int, *, wait: bool) -> None:
        msvcrt.locking(handle, msvcrt.LK_LOCK if wait else msvcrt.LK_NBLCK, 1)

else:
    import fcntl

    def _take(handle: int, *, wait: bool) -> None:
        fcntl.flock(handle, fcntl.LOCK_EX | (0 if wait else fcntl.LOCK_NB))


class FileLocks:
    """Implements `Locks` with files in the data folder."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder

    @contextmanager
    def backing_up(self) -> Iterator[None]:
        """Hold while a backup is made; raise `BackupError` where another is."""
        with self._held("backup.lock", wait=False):
            yield

    @contextmanager
    def ring(self) -> Iterator[None]:
        """Hold from reading the keys to writing the ring; waits."""
        with self._held("ring.lock", wait=True):
            yield

    @contextmanager
    def settings(self) -> Iterator[None]:
        """Hold while the settings are changed; waits."""
        with self._held("backup-settings.lock", wait=True):
            yield

    @contextmanager
    def _held(self, name: str, *, wait: bool) -> Iterator[None]:
        try:
            handle = os.open(self._folder / name, os.O_RDWR | os.O_CREAT, 0o600)
        except OSError as error:
            raise BackupError(f"{self._folder} cannot be written ({error.strerror})") from None
        try:
            try:
                _take(handle, wait=wait)
            except OSError:
                raise BackupError("another backup is being made just now; wait for it") from None
            yield
        finally:
            os.close(handle)
