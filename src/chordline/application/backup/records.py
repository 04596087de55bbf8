"""Backups as they are spoken of: frozen, without a disk behind them."""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, time

_NAME = re.compile(r"chordline-(\d{4}-\d{2}-\d{2}T\d{6})Z\.backup", re.ASCII)
_STAMP = "%Y-%m-%dT%H%M%S"


def backup_name(made_at: datetime) -> str:
    """Return the file name of a backup."""
    return f"chordline-{made_at.astimezone(UTC).strftime(_STAMP)}Z.backup"


def moment_of(name: str) -> datetime | None:
    """Return when a backup was made, by its name; None for any other file."""
    found = _NAME.fullmatch(name)
    if found is None:
        return None
    try:
        return datetime.strptime(found[1], _STAMP).replace(tzinfo=UTC)
    except ValueError:
        return None


def key_id_of(name: str) -> str:
    """Return the id of the data key that a sealed file needs, by its name."""
    return name.split("-")[1]


@dataclass(frozen=True)
class SealedPicture:
    """A sealed picture or video as a backup lists it."""

    name: str
    size_bytes: int
    sha256: str


@dataclass(frozen=True)
class Part:
    """One file within a backup: its name, size [bytes] and SHA-256, unpacked."""

    name: str
    size_bytes: int
    sha256: str


@dataclass(frozen=True)
class Manifest:
    """What a backup says of itself, encrypted and authenticated.

    Attributes
    ----------
    made_at : datetime
        When its copy of the records began; what was acknowledged before is in it.
    version : str
        Of the program.
    revision : str
        Of the schema.
    counts : mapping
        Table → rows.
    parts : tuple of Part
        In the order in which they follow.
    missing : tuple of str
        Pictures that the copied records name and that were not there to be copied: erased
        meanwhile, or lost before.
    """

    made_at: datetime
    version: str
    revision: str
    counts: Mapping[str, int]
    parts: tuple[Part, ...]
    missing: tuple[str, ...] = ()


@dataclass(frozen=True)
class Opening:
    """What stands readable before the encrypted part of a backup, and is bound to it.

    Attributes
    ----------
    made_at : datetime
    club_key : bytes
        The file of the club key, which needs a passphrase or the recovery code.
    needs_no_passphrase : bool
        Whether the club had set none: then the key lies beside the pictures again once restored.
    key_id : str
        Names the club key.
    pictures : tuple of SealedPicture
        Those it needs, in the folder's ``pictures``.
    """

    made_at: datetime
    club_key: bytes = field(repr=False)
    needs_no_passphrase: bool
    key_id: str
    pictures: tuple[SealedPicture, ...] = field(repr=False)


@dataclass(frozen=True)
class Keep:
    """How many generations are kept (common practice: a week of days, a month of weeks, a year)."""

    daily: int = 7
    weekly: int = 5
    monthly: int = 12


@dataclass(frozen=True)
class FolderNote:
    """What this machine knows of a backup folder.

    Attributes
    ----------
    path : str
    ring_due_since : datetime or None
        Somebody was erased since and the ring there could not be replaced.
    """

    path: str
    ring_due_since: datetime | None = None


@dataclass(frozen=True)
class BackupNote:
    """When a backup was found whole on this machine, and how large it was [bytes]."""

    checked_at: datetime
    size_bytes: int
    pictures: int
    missing: int = 0


@dataclass(frozen=True)
class BackupSettings:
    """What this machine knows of backups; kept beside the records, on this machine only.

    Attributes
    ----------
    folders : tuple of FolderNote
        The first is the one in use; the others were, and hold a ring of keys.
    daily_at : time or None
        When a running server makes one; None = only when told to. Assumption: after training.
    keep : Keep
    warn_after_days : int
        A last backup older than this is told of (common practice: a week).
    checked : mapping
        File name → `BackupNote`.
    failed_at, failure
        The last failure since the last backup.
    """

    folders: tuple[FolderNote, ...] = ()
    daily_at: time | None = time(21, 30)
    keep: Keep = Keep()
    warn_after_days: int = 7
    checked: Mapping[str, BackupNote] = field(default_factory=dict)
    failed_at: datetime | None = None
    failure: str = ""

    @property
    def folder(self) -> str | None:
        """The folder in use."""
        return self.folders[0].path if self.folders else None

    def at(self, daily_at: time | None) -> "BackupSettings":
        """Return the same with another time of the day."""
        return replace(self, daily_at=daily_at)


@dataclass(frozen=True)
class Sampled:
    """What came of decrypting some pictures.

    Attributes
    ----------
    opened : int
    spoilt : tuple of str
        Those that did not open.
    """

    opened: int = 0
    spoilt: tuple[str, ...] = ()


@dataclass(frozen=True)
class BackupMade:
    """What became of a backup.

    Attributes
    ----------
    name, folder : str
    manifest : Manifest
    size_bytes : int
        Of the file alone.
    pictures, copied : int
        Pictures it needs, and those that were not in the folder yet.
    lost : tuple of str
        Pictures that the records still name and that are not there.
    spoilt : tuple of str
        Pictures of a sample that do not open: they are damaged in the club's own folder.
    pruned : tuple of str
        Backups of earlier generations that were removed.
    ring_due : bool
        Whether the ring in the folder could not be replaced, because the vault is locked.
    """

    name: str
    folder: str
    manifest: Manifest
    size_bytes: int
    pictures: int
    copied: int
    lost: tuple[str, ...]
    spoilt: tuple[str, ...]
    pruned: tuple[str, ...]
    ring_due: bool


@dataclass(frozen=True)
class Checked:
    """What checking a backup found.

    Attributes
    ----------
    manifest : Manifest
    pictures : int
        Those found whole.
    erased : int
        Those that were deleted because their gymnast was erased.
    damaged : tuple of str
        Those that are missing or changed though nobody erased them.
    opened : int
        How many were decrypted, as a sample.
    """

    manifest: Manifest
    pictures: int
    erased: int
    damaged: tuple[str, ...]
    opened: int


@dataclass(frozen=True)
class Restored:
    """What was restored.

    Attributes
    ----------
    name : str
        Of the backup.
    manifest : Manifest
    pictures : int
    erased_again : int
        Gymnasts who had been erased since, and were erased again.
    damaged : tuple of str
        Pictures that could not be brought back.
    aside : str
        Where the data folder of before lies now; empty = there was none.
    migrated_from : str
        Revision of the records in the backup, where it was older; else empty.
    """

    name: str
    manifest: Manifest
    pictures: int
    erased_again: int
    damaged: tuple[str, ...]
    aside: str
    migrated_from: str
