"""One at a time, across processes: implements `Locks` with files in the data folder."""

from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path

from chordline.adapters.file_lock import HeldError, file_lock
from chordline.errors import BackupError


class FileLocks:
    """Implements `Locks`."""

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
        with ExitStack() as held:
            try:
                held.enter_context(file_lock(self._folder / name, wait=wait))
            except HeldError:
                raise BackupError("another backup is being made just now; wait for it") from None
            except OSError as error:
                raise BackupError(f"{self._folder} cannot be written ({error.strerror})") from None
            yield
