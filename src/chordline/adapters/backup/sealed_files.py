"""Sealed files in a folder, read and copied as they are; implements `Pictures`."""

import hashlib
from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO

from chordline.adapters.backup.names import PLAIN_NAME, SEALED_NAME, within
from chordline.adapters.vault.places import UNFINISHED, write_whole
from chordline.application.backup.ports import Stop
from chordline.application.backup.records import SealedPicture
from chordline.errors import BackupError

_PIECE = 1 << 20


class SealedFiles:
    """A folder of sealed files, spread as in the club's own; none of them is opened."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder

    @property
    def folder(self) -> Path:
        """Where they are."""
        return self._folder

    def path_of(self, name: str) -> Path | None:
        """Return where a sealed or plain file lies; None for any other name."""
        if SEALED_NAME.fullmatch(name):
            return self._folder / within(name)
        if PLAIN_NAME.fullmatch(name):
            return self._folder / name.removeprefix("plain-")[:2] / name
        return None

    def open(self, name: str) -> BinaryIO | None:
        """Return a file's bytes as they lie there; None where it is not there."""
        path = self.path_of(name)
        try:
            return None if path is None else path.open("rb")
        except FileNotFoundError:
            return None
        except OSError as error:
            raise BackupError(f"{name} cannot be read ({error.strerror})") from None

    def size_bytes(self, name: str) -> int | None:
        """Return a file's size; None where it is not there."""
        path = self.path_of(name)
        try:
            return None if path is None else path.stat().st_size
        except OSError:
            return None

    def sha256(self, name: str) -> str | None:
        """Return a file's SHA-256; None where it cannot be read."""
        try:
            file = self.open(name)
            if file is None:
                return None
            digest = hashlib.sha256()
            with file:
                while piece := file.read(_PIECE):
                    digest.update(piece)
            return digest.hexdigest()
        except (OSError, BackupError):
            return None

    def keep(self, name: str, content: BinaryIO, stop: Stop) -> SealedPicture:
        """Copy a sealed file to here, wholly or not at all; raise `OSError` where it cannot be."""
        digest, size = hashlib.sha256(), 0

        def pieces() -> Iterator[bytes]:
            nonlocal size
            while piece := content.read(_PIECE):
                stop()
                digest.update(piece)
                size += len(piece)
                yield piece

        write_whole(self._folder / within(name), pieces(), workplace=self._folder)
        return SealedPicture(name, size, digest.hexdigest())

    def names(self) -> Iterator[str]:
        """Yield the names of all sealed files."""
        for one in sorted(self._folder.glob("??/*")):
            if SEALED_NAME.fullmatch(one.name):
                yield one.name

    def remove(self, name: str) -> None:
        """Delete a sealed file."""
        (self._folder / within(name)).unlink(missing_ok=True)

    def sweep(self) -> None:
        """Delete what a kill left unfinished."""
        for left in self._folder.glob(f"{UNFINISHED}*"):
            left.unlink(missing_ok=True)
