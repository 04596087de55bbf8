"""What backups need from the world, as protocols."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import BinaryIO, Protocol

from chordline.application.backup.records import (
    BackupSettings,
    Manifest,
    Opening,
    SealedPicture,
)

#: Raises `BackupStoppedError` once somebody wants it to stop; called often.
Stop = Callable[[], None]


class Progress(Protocol):
    """Somebody who is told how it goes on."""

    def start(self, total: int) -> None:
        """Hear how many steps there will be."""
        ...

    def step(self, label: str) -> None:
        """Hear of one step done."""
        ...


@dataclass(frozen=True)
class RecordsCopied:
    """A consistent copy of the records in one file, without keys and logins.

    Attributes
    ----------
    place : Path
    revision : str
    counts : mapping
        Table → rows.
    content_keys : tuple of str
        Of the pictures and videos that its rows name.
    """

    place: Path
    revision: str
    counts: Mapping[str, int]
    content_keys: tuple[str, ...]


class CopyRecords(Protocol):
    """Copies the records while others write."""

    def size_bytes(self) -> int:
        """Return about how large the copy will be."""
        ...

    def copy(self, workplace: Path, stop: Stop) -> RecordsCopied:
        """Return a copy in a folder; it shows one moment, at or after the call."""
        ...


class RecordsChecker(Protocol):
    """Looks whether a copy of the records is whole."""

    def __call__(self, copy: Path) -> tuple[str, Mapping[str, int]]:
        """Return its revision and counts; raise `BackupError` where it is damaged."""
        ...


class Pictures(Protocol):
    """Sealed files as they lie on the disk, and plain ones of before there was a vault."""

    def path_of(self, name: str) -> Path | None:
        """Return where a file lies; None for a name that no file has."""
        ...

    def open(self, name: str) -> BinaryIO | None:
        """Return a file's bytes as they lie there; None where it is not there."""
        ...

    def size_bytes(self, name: str) -> int | None:
        """Return a file's size; None where it is not there."""
        ...


class BackupFile(Protocol):
    """One backup, opened."""

    @property
    def manifest(self) -> Manifest:
        """What it says of itself."""
        ...

    def part(self, name: str, into: Path) -> None:
        """Unpack a part into a file; raise `BackupError` where it is damaged."""
        ...

    def check(self, stop: Stop) -> None:
        """Read everything; raise `BackupError` where anything is damaged."""
        ...


class Folder(Protocol):
    """A folder of backups."""

    @property
    def path(self) -> Path:
        """Where it is."""
        ...

    def prepare(self, key_id: str) -> None:
        """Make it where there is none; raise `BackupError` where it holds another club's."""
        ...

    def free_bytes(self) -> int:
        """Return the room on its disk."""
        ...

    def names(self) -> tuple[str, ...]:
        """Return the backups, the latest first."""
        ...

    def size_of(self, name: str) -> int:
        """Return a backup's size."""
        ...

    def opening(self, name: str) -> Opening:
        """Return what stands before the encrypted part."""
        ...

    def keep_picture(self, name: str, content: BinaryIO, stop: Stop) -> SealedPicture:
        """Copy a sealed file into the folder, wholly or not at all."""
        ...

    def picture_size(self, name: str) -> int | None:
        """Return the size of a sealed file in the folder; None where it is not there."""
        ...

    def hash_picture(self, name: str) -> str | None:
        """Return the SHA-256 of a sealed file in the folder; None where it cannot be read."""
        ...

    def pictures(self) -> Iterator[str]:
        """Yield the names of all sealed files in the folder."""
        ...

    def remove_picture(self, name: str) -> None:
        """Delete a sealed file."""
        ...

    def remove(self, name: str) -> None:
        """Delete a backup."""
        ...

    def write_backup(self, name: str, pieces: Iterator[bytes]) -> Path:
        """Write a backup under a name of work, to the disk; return it."""
        ...

    def finish(self, unfinished: Path, name: str) -> None:
        """Give a backup that was found whole its name."""
        ...

    def write_beside(self, name: str, content: bytes) -> None:
        """Put a small file beside the backups in the place of the one before."""
        ...

    def read_beside(self, name: str) -> bytes | None:
        """Return a small file beside the backups; None where there is none."""
        ...


class SettingsBook(Protocol):
    """Where this machine keeps what it knows of backups."""

    def read(self) -> BackupSettings:
        """Return it."""
        ...

    def change(self, how: Callable[[BackupSettings], BackupSettings]) -> BackupSettings:
        """Change it, one at a time; return it as it stands then."""
        ...


class Locks(Protocol):
    """One at a time, across processes."""

    def backing_up(self) -> AbstractContextManager[None]:
        """Hold while a backup is made; raise `BackupError` where another is."""
        ...

    def ring(self) -> AbstractContextManager[None]:
        """Hold from reading the keys to writing the ring; waits."""
        ...


@dataclass(frozen=True)
class Ring:
    """What lies beside the backups and is replaced when somebody is erased.

    Attributes
    ----------
    keys : bytes
        The wrapped keys, sealed.
    erased : bytes
        Who was erased, as numbers, sealed.
    dropped : frozenset of str
        Ids of keys that the ring before held and that nobody may have any more.
    """

    keys: bytes
    erased: bytes
    dropped: frozenset[str]


class Secrets(Protocol):
    """What the club's vault gives to backups."""

    def key_id(self) -> str:
        """Return the name of the club key."""
        ...

    def club_key(self) -> tuple[bytes, bool]:
        """Return the file of the club key without the key itself, and whether no passphrase is set.

        Raises
        ------
        BackupError
            Where neither a passphrase nor a recovery sheet opens it.
        """
        ...

    def ring(self, before: bytes | None, erased_before: bytes | None) -> Ring | None:
        """Return the ring that takes the place of the one before; None where the vault is locked.

        It holds the keys of the records, and those that the ring before holds besides, unless
        their gymnast was erased: records that were lost, or are older, must not cost the pictures
        of a backup.
        """
        ...

    def lacks(self, ring: bytes | None) -> bool:
        """Return whether a ring lacks keys of the records; the vault may be locked."""
        ...

    def is_due(self, ring: bytes | None) -> bool:
        """Return whether a ring holds keys of somebody who was erased; the vault may be locked."""
        ...


class Writer(Protocol):
    """Writes backup files."""

    def write(
        self,
        folder: Folder,
        opening: Opening,
        manifest: Manifest,
        files: Sequence[tuple[str, Path]],
        *,
        check: Callable[[BackupFile], None],
        stop: Stop,
    ) -> tuple[str, Manifest]:
        """Write a backup of named files, have it checked, and only then give it its name.

        Returns that name, and the manifest with its parts.
        """
        ...


Clock = Callable[[], datetime]
