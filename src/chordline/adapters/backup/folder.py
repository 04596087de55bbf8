"""A folder of backups on a disk.

``chordline-….backup``   one file a backup: the records, encrypted
``pictures/ab/sealed-…`` pictures and videos as the vault seals them, each once for all backups
``ring``                 wrapped keys of the pictures; replaced, never kept in generations
``erased``               numbers of those who were erased
``club.key``             the club key under the passphrase of today, for backups of before it
"""

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO

from chordline.adapters.backup.container import read_opening
from chordline.adapters.backup.sealed_files import SealedFiles
from chordline.adapters.vault.places import UNFINISHED, sync_folder, write_whole
from chordline.application.backup.ports import Stop
from chordline.application.backup.records import Opening, SealedPicture, moment_of
from chordline.errors import BackupError

RING, ERASED, CLUB_KEY = "ring", "erased", "club.key"
_PICTURES = "pictures"
#: Larger than a ring of ten thousand gymnasts.
_LONGEST_BESIDE = 64 << 20


class BackupFolder:
    """Implements `Folder`."""

    def __init__(self, path: Path) -> None:
        self._path = path
        self._sealed = SealedFiles(path / _PICTURES)

    @property
    def path(self) -> Path:
        """Where it is."""
        return self._path

    @property
    def sealed(self) -> SealedFiles:
        """The sealed files, spread as in the club's own folder."""
        return self._sealed

    def prepare(self, key_id: str) -> None:
        """Make it where there is none, and sweep away what a kill left."""
        with self._told():
            self._path.mkdir(parents=True, exist_ok=True, mode=0o700)
            self._sealed.folder.mkdir(exist_ok=True, mode=0o700)
            for left in self._path.glob(f"{UNFINISHED}*"):
                left.unlink(missing_ok=True)
            self._sealed.sweep()
        for name in self.names():
            try:
                found = self.opening(name).key_id
            except BackupError:
                continue  # a damaged one is told of when it is checked
            if found != key_id:
                raise BackupError(
                    "this folder holds backups that were made under another club key; name "
                    "another folder"
                )
            break

    def free_bytes(self) -> int:
        """Return the room on its disk."""
        with self._told():
            place = self._path
            while not place.exists() and place != place.parent:
                place = place.parent
            return shutil.disk_usage(place).free

    def names(self) -> tuple[str, ...]:
        """Return the backups, the latest first."""
        with self._told():
            found = [one.name for one in self._path.iterdir() if moment_of(one.name) is not None]
        return tuple(sorted(found, reverse=True))

    def size_of(self, name: str) -> int:
        """Return a backup's size."""
        with self._told():
            return (self._path / name).stat().st_size

    def opening(self, name: str) -> Opening:
        """Return what stands before the encrypted part."""
        return read_opening(self._path / name)[0]

    def keep_picture(self, name: str, content: BinaryIO, stop: Stop) -> SealedPicture:
        """Copy a sealed file into the folder, wholly or not at all."""
        with self._told():
            return self._sealed.keep(name, content, stop)

    def picture_size(self, name: str) -> int | None:
        """Return the size of a sealed file in the folder; None where it is not there."""
        return self._sealed.size_bytes(name)

    def hash_picture(self, name: str) -> str | None:
        """Return the SHA-256 of a sealed file in the folder; None where it cannot be read."""
        return self._sealed.sha256(name)

    def pictures(self) -> Iterator[str]:
        """Yield the names of all sealed files in the folder."""
        with self._told():
            yield from self._sealed.names()

    def remove_picture(self, name: str) -> None:
        """Delete a sealed file."""
        with self._told():
            self._sealed.remove(name)

    def remove(self, name: str) -> None:
        """Delete a backup."""
        if moment_of(name) is None:
            raise ValueError(name)
        with self._told():
            (self._path / name).unlink(missing_ok=True)
            sync_folder(self._path)

    def write_backup(self, name: str, pieces: Iterator[bytes]) -> Path:
        """Write a backup under a name of work; return it. `finish` gives the final one."""
        unfinished = self._path / f"{UNFINISHED}{name}"
        with self._told(), unfinished.open("wb") as file:
            os.chmod(unfinished, 0o600)
            for piece in pieces:
                file.write(piece)
            file.flush()
            os.fsync(file.fileno())
        return unfinished

    def finish(self, unfinished: Path, name: str) -> None:
        """Give a backup that was found whole its name."""
        with self._told():
            unfinished.replace(self._path / name)
            sync_folder(self._path)

    def write_beside(self, name: str, content: bytes) -> None:
        """Put a small file beside the backups in the place of the one before."""
        with self._told():
            # Not made here: a disk that is not in the machine must not become a folder.
            if not self._path.is_dir():
                raise FileNotFoundError(2, "it is not there")
            write_whole(self._path / name, [content])

    def read_beside(self, name: str) -> bytes | None:
        """Return a small file beside the backups; None where there is none."""
        with self._told():
            try:
                with (self._path / name).open("rb") as file:
                    return file.read(_LONGEST_BESIDE)
            except FileNotFoundError:
                return None

    @contextmanager
    def _told(self) -> Iterator[None]:
        try:
            yield
        except OSError as error:
            raise BackupError(
                f"the backup folder {self._path} cannot be used now "
                f"({error.strerror or 'unknown reason'}); what is in it stays as it is"
            ) from None
