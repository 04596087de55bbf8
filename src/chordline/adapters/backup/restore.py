"""Restoring: everything is put together and checked beside its place, then moved there."""

import os
import shutil
from collections.abc import Callable, Iterator, Sequence
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Protocol

from chordline.adapters.backup.container import OpenedBackup, open_container
from chordline.adapters.backup.folder import CLUB_KEY, ERASED, RING, BackupFolder
from chordline.adapters.backup.keys import reading_keys
from chordline.adapters.backup.names import PLAIN_NAME
from chordline.adapters.backup.records_copy import check_copy
from chordline.adapters.backup.records_move import move_records
from chordline.adapters.backup.renew_keys import RenewKeys
from chordline.adapters.backup.restore_place import erased_there, look_at_place
from chordline.adapters.backup.ring_file import Key, read_ring, write_ring
from chordline.adapters.backup.sealed_files import SealedFiles
from chordline.adapters.backup.secrets import read_erased
from chordline.adapters.vault.club_key import ClubKeyFile
from chordline.adapters.vault.places import sync_folder, write_whole
from chordline.adapters.vault.ring import import_ring
from chordline.application.backup.make_backup import RECORDS_PART
from chordline.application.backup.ports import Progress, Stop
from chordline.application.backup.records import (
    Opening,
    Restored,
    SealedPicture,
    key_id_of,
)
from chordline.application.club.erase_again import EraseAgain
from chordline.application.club.erased import Erased
from chordline.application.club.her_record import KeepHer
from chordline.application.club.photo_store import PhotoStore
from chordline.application.club.ports import Records
from chordline.application.club.records import Club
from chordline.application.club.vault_ports import Vault
from chordline.errors import BackupError, PhotoStoreError, VaultError, WrongSecretError

#: What belongs to this machine and is taken over from the folder that is replaced.
_OF_THIS_MACHINE = ("backup.json", "tls")
#: So many pictures are decrypted as a sample, spread over all.
SAMPLE = 20
_SPARE = 50_000_000


class StagedClub(Protocol):
    """The application on a folder that is not in its place yet."""

    @property
    def records(self) -> Records:
        """The records; opened, and so brought to this program's schema, on first use."""
        ...

    @property
    def vault(self) -> Vault:
        """The vault."""
        ...

    @property
    def photo_store(self) -> PhotoStore:
        """The pictures."""
        ...

    def club(self) -> Club:
        """Return the club."""
        ...

    def keep_her(self) -> KeepHer:
        """Return the use case."""
        ...


@dataclass(frozen=True)
class Wanted:
    """What is asked for.

    Attributes
    ----------
    file : Path
        The backup.
    to : Path
        The data folder.
    replace : bool
        Whether a data folder that is there may be moved aside.
    database : str or None
        Address of an empty PostgreSQL database for the records; None = a file in the folder.
    without_damaged : bool
        Whether to go on where pictures are missing or damaged.
    new_keys : bool
        Whether everything gets other keys, and the club another passphrase.
    """

    file: Path
    to: Path
    replace: bool = False
    database: str | None = None
    without_damaged: bool = False
    new_keys: bool = False


@dataclass(frozen=True)
class _Source:
    folder: BackupFolder
    opening: Opening


@dataclass(frozen=True)
class _Watch:
    progress: Progress | None
    stop: Stop


class RestoreBackup:
    """Restores a backup.

    Parameters
    ----------
    stage : callable
        Returns the application on a folder.
    unlock : callable
        Unlocks a vault; called again, with another file of the same club key, where it raised
        `WrongSecretError`.
    new_passphrase : callable
        Returns the passphrase of the new club key; asked where new keys are wanted.
    """

    def __init__(
        self,
        stage: Callable[[Path], StagedClub],
        unlock: Callable[[Vault], None],
        new_passphrase: Callable[[], str],
    ) -> None:
        self._stage = stage
        self._unlock = unlock
        self._new_passphrase = new_passphrase

    def __call__(
        self, wanted: Wanted, *, progress: Progress | None = None, stop: Stop = lambda: None
    ) -> Restored:
        """Restore; until all of it was checked, nothing that is there is touched.

        Raises
        ------
        WrongSecretError
            Where neither passphrase nor code opens it.
        NewerRecordsError
            Where a newer chordline made it.
        BackupError
            Where it is damaged, or the place is not free.
        """
        folder = BackupFolder(wanted.file.parent)
        opening = folder.opening(wanted.file.name)
        look_at_place(wanted.to, replace=wanted.replace)
        known = erased_there(wanted.to)
        with _told(wanted.to):
            staging = wanted.to.with_name(f".{wanted.to.name}.restoring")
            shutil.rmtree(staging, ignore_errors=True)
            staging.mkdir(parents=True, mode=0o700)
            try:
                watch = _Watch(progress, stop)
                return self._restore(wanted, _Source(folder, opening), staging, known, watch)
            finally:
                shutil.rmtree(staging, ignore_errors=True)

    def _restore(
        self,
        wanted: Wanted,
        source: _Source,
        staging: Path,
        known: Sequence[Erased],
        watch: _Watch,
    ) -> Restored:
        folder, opening = source.folder, source.opening
        _need_room(staging, opening)
        club = self._stage(staging)
        self._open_vault(club.vault, folder, opening, staging)
        renew = self._renewing(source, staging, club.vault) if wanted.new_keys else None
        with closing(open_container(wanted.file, reading_keys(club.vault))) as backup:
            manifest = backup.manifest
            _unpack(backup, staging, watch.stop)
        known = [*known, *read_erased(folder.read_beside(ERASED), club.vault)]
        ring = read_ring(folder.read_beside(RING), club.vault)
        if ring is None:
            if opening.pictures and not wanted.without_damaged:
                raise BackupError(
                    "the ring of keys beside the backup is missing or damaged: no picture would "
                    "open. Take the folder from another disk, or restore the records alone with "
                    "--without-damaged"
                )
            ring = []
        damaged, taken = _copy_pictures(source, ring, staging, watch)
        if damaged and not wanted.without_damaged:
            raise BackupError(
                f"{len(damaged)} of {len(opening.pictures)} pictures are missing or damaged in "
                f"{folder.sealed.folder}. Take the folder from another disk, or restore the rest "
                "with --without-damaged. Nothing was changed"
            )
        try:
            club_id = club.club().id
            if renew is None:
                with club.records.transaction() as tx:
                    import_ring(tx, club_id, club.vault, _fitting(ring, taken, club.vault))
            erased = EraseAgain(club.records, club.keep_her())(known)
            if renew is None:
                spoilt = _spoilt_among(club.photo_store, taken)
                if opening.needs_no_passphrase:
                    club.vault.remove_passphrase()
            else:
                renewed = renew(
                    club.records, club_id, ring, progress=watch.progress, stop=watch.stop
                )
                spoilt = [*renewed.unreadable, *_spoilt_among(renewed.store, renewed.names)]
                taken = list(renewed.names)
                renew.put_in_place()
            if spoilt and not wanted.without_damaged:
                raise BackupError(
                    f"{len(spoilt)} of the pictures that were tried do not open: they were damaged "
                    "when the backup was made. Take an older one, or restore the rest with "
                    "--without-damaged. Nothing was changed"
                )
            damaged = sorted({*damaged, *spoilt})
            club.records.scrub()
        finally:
            club.records.close()
            club.vault.lock()
        revision, _ = check_copy(staging / RECORDS_PART)
        aside = _switch(wanted, staging)
        there = SealedFiles(wanted.to / "photos")
        return Restored(
            wanted.file.name,
            manifest,
            pictures=sum(there.size_bytes(name) is not None for name in taken),
            erased_again=len(erased),
            damaged=tuple(damaged),
            aside="" if aside is None else str(aside),
            migrated_from="" if revision == manifest.revision else manifest.revision,
        )

    def _renewing(self, source: _Source, staging: Path, before: Vault) -> RenewKeys:
        """Ask for the new passphrase before the long work; one of before is refused."""
        renew = RenewKeys(staging, before, self._new_passphrase())
        today = source.folder.read_beside(CLUB_KEY)
        renew.refuse_known([source.opening.club_key, *([] if today is None else [today])])
        return renew

    def _open_vault(
        self, vault: Vault, folder: BackupFolder, opening: Opening, staging: Path
    ) -> None:
        """Unlock with the club key as it is wrapped today, or as it was in the backup."""
        files = [opening.club_key]
        today = folder.read_beside(CLUB_KEY)
        with suppress(VaultError):
            if today is not None and ClubKeyFile.read(today).id == opening.key_id:
                files.insert(0, today)
        wrong: WrongSecretError | None = None
        for file in files:
            write_whole(staging / "club.key", [file])
            try:
                self._unlock(vault)
            except WrongSecretError as error:
                wrong = error
            else:
                return
        raise wrong or WrongSecretError("nothing opens this backup")


def _need_room(staging: Path, opening: Opening) -> None:
    needed = sum(one.size_bytes for one in opening.pictures) + _SPARE
    free = shutil.disk_usage(staging).free
    if free < needed:
        raise BackupError(
            f"restoring needs {needed / 1e9:.2f} GB, and {free / 1e9:.2f} GB are free; make room, "
            "or name a folder on another disk with --to"
        )


def _unpack(backup: OpenedBackup, staging: Path, stop: Stop) -> None:
    records = staging / RECORDS_PART
    backup.part(RECORDS_PART, records, stop)
    revision, counts = check_copy(records)
    told = backup.manifest
    if (revision, dict(counts)) != (told.revision, dict(told.counts)):
        raise BackupError(f"{backup.path.name} does not hold what its list says; use another")
    source = SealedFiles(staging / "photos")
    for part in told.parts:
        path = source.path_of(part.name) if PLAIN_NAME.fullmatch(part.name) else None
        if path is not None:
            path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
            backup.part(part.name, path, stop)


def _copy_pictures(
    source: _Source, ring: Sequence[Key], staging: Path, watch: _Watch
) -> tuple[list[str], list[str]]:
    """Copy the pictures that somebody has a key for; return what is damaged, and what was taken."""
    ids = {one["id"] for one in ring}
    target = SealedFiles(staging / "photos")
    target.folder.mkdir(exist_ok=True, mode=0o700)
    damaged: list[str] = []
    taken: list[str] = []
    if watch.progress is not None:
        watch.progress.start(len(source.opening.pictures))
    for one in source.opening.pictures:
        watch.stop()
        if key_id_of(one.name) in ids:
            (taken if _copied(source.folder, target, one, watch.stop) else damaged).append(one.name)
        elif not ring:
            damaged.append(one.name)
        if watch.progress is not None:
            watch.progress.step("")
    return damaged, taken


def _copied(folder: BackupFolder, target: SealedFiles, one: SealedPicture, stop: Stop) -> bool:
    file = folder.sealed.open(one.name)
    if file is None:
        return False
    with file:
        copied = target.keep(one.name, file, stop)
    if copied == one:
        return True
    target.remove(one.name)
    return False


def _fitting(ring: Sequence[Key], names: Sequence[str], vault: Vault) -> bytes:
    """Return the ring with the keys first that these pictures need: one a gymnast is taken."""
    needed = {key_id_of(name) for name in names}
    return write_ring(sorted(ring, key=lambda one: one["id"] not in needed), vault)


def _spoilt_among(store: PhotoStore, names: Sequence[str]) -> list[str]:
    """Return which of some pictures do not open; refuse where none does."""
    tried, spoilt = 0, []
    for name in spread(names):
        if store.has(name):
            tried += 1
            try:
                store.open(name)
            except PhotoStoreError:
                spoilt.append(name)
    if tried and len(spoilt) == tried:
        raise BackupError(
            "the pictures in this backup do not open; take ring and pictures from one folder"
        )
    return spoilt


def spread(names: Sequence[str]) -> Sequence[str]:
    """Return at most `SAMPLE` names, spread over all."""
    return names[:: max(1, -(-len(names) // SAMPLE))]


def _switch(wanted: Wanted, staging: Path) -> Path | None:
    """Put the folder into its place; return where the one before lies now."""
    to, aside = wanted.to, None
    if to.exists() and any(to.iterdir()):
        # With new keys nothing of it is trusted: certificates have keys as well, and the backup
        # folders hold copies under the keys of before.
        for name in () if wanted.new_keys else _OF_THIS_MACHINE:
            if (to / name).is_dir():
                shutil.copytree(to / name, staging / name)
            elif (to / name).exists():
                shutil.copy2(to / name, staging / name)
    with move_records(staging / RECORDS_PART, wanted.database) as moved:
        if moved:
            (staging / RECORDS_PART).unlink()
        sync_folder(staging)
        if to.exists() and any(to.iterdir()):
            aside = to.with_name(f"{to.name}.before-{datetime.now(UTC):%Y-%m-%dT%H%M%SZ}")
            to.rename(aside)
        elif to.exists():
            to.rmdir()
        staging.rename(to)
        sync_folder(to.parent)
    return aside


@contextmanager
def _told(to: Path) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        raise BackupError(
            f"{to} cannot be restored to ({error.strerror or os.strerror(error.errno or 0)}); what "
            "was there before is as it was"
        ) from None
