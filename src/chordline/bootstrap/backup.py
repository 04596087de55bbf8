"""Backups: made, checked, restored."""

import shutil
import tempfile
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

from platformdirs import user_data_path

from chordline.application.backup.backup_health import (
    BackupsSeen,
    examine_backups,
    examine_clock,
    look_at_backups,
)
from chordline.application.backup.check_backup import CheckBackup
from chordline.application.backup.make_backup import BackupTools, MakeBackup
from chordline.application.backup.ports import CopyRecords, Folder, Progress, Stop
from chordline.application.backup.records import (
    BackupSettings,
    Checked,
    Restored,
    Sampled,
    SealedPicture,
)
from chordline.application.backup.replace_rings import ReplaceRings, copies_in_words
from chordline.application.club.vault_ports import Vault
from chordline.application.health import Finding
from chordline.bootstrap.progress import Progress as ProgressApp
from chordline.errors import (
    BackupError,
    ChordlineError,
    PhotoStoreError,
    VaultError,
    VaultLockedError,
)

if TYPE_CHECKING:
    from chordline.adapters.backup.keys import ReadingKeys
    from chordline.adapters.backup.locks import FileLocks
    from chordline.adapters.backup.restore import StagedClub, Wanted
    from chordline.adapters.backup.secrets import VaultSecrets
    from chordline.adapters.backup.settings_file import SettingsFile

#: So many pictures of a backup are decrypted when it is checked, spread over all (assumption).
_SAMPLE = 20


@dataclass(frozen=True)
class Backups(ProgressApp):
    """Backups: made, checked, their ring replaced."""

    @cached_property
    def backup_settings(self) -> "SettingsFile":
        """What this machine knows of backups."""
        from chordline.adapters.backup.settings_file import SettingsFile  # noqa: PLC0415

        return SettingsFile(self.data_folder / "backup.json", self._locks)

    @cached_property
    def _locks(self) -> "FileLocks":
        from chordline.adapters.backup.locks import FileLocks  # noqa: PLC0415

        return FileLocks(self.data_folder)

    @cached_property
    def _secrets(self) -> "VaultSecrets":
        from chordline.adapters.backup.secrets import VaultSecrets  # noqa: PLC0415

        return VaultSecrets(
            self.data_folder / "club.key",
            self.vault,
            reading=self.records.reading,
            club_id=lambda: self.club().id,
        )

    def make_backup(self) -> MakeBackup:
        """Return the use case."""
        from chordline.adapters.backup.keys import writing_keys  # noqa: PLC0415
        from chordline.adapters.backup.records_copy import check_copy  # noqa: PLC0415
        from chordline.adapters.backup.sealed_files import SealedFiles  # noqa: PLC0415
        from chordline.adapters.backup.writer import ContainerWriter  # noqa: PLC0415

        workplace = self._workplace
        keys = self.data_folder / "backup.key"
        return MakeBackup(
            BackupTools(
                copier=self._copier(),
                checker=check_copy,
                pictures=SealedFiles(self.data_folder / "photos"),
                secrets=self._secrets,
                writer=ContainerWriter(
                    lambda: writing_keys(keys, self._secrets.key_id(), self.vault), workplace
                ),
                settings=self.backup_settings,
                locks=self._locks,
                rings=self.replace_rings(),
                open_folder=open_folder,
                workplace=workplace,
                needed=self._still_named,
                sample=self._open_sample,
                clock=_now,
            )
        )

    @property
    def _workplace(self) -> Path:
        """Where copies of the records lie while they are packed or checked."""
        return self.data_folder / "backup-work"

    @contextmanager
    def _emptied_workplace(self) -> Iterator[Path]:
        shutil.rmtree(self._workplace, ignore_errors=True)
        try:
            self._workplace.mkdir(mode=0o700)
        except OSError as error:
            raise BackupError(f"{self._workplace} cannot be made ({error.strerror})") from None
        try:
            yield self._workplace
        finally:
            shutil.rmtree(self._workplace, ignore_errors=True)

    def sweep_backup_work(self) -> None:
        """Delete a copy of the records that a kill left, unless one is being made now."""
        with suppress(BackupError), self._locks.backing_up():
            shutil.rmtree(self._workplace, ignore_errors=True)

    def replace_rings(self) -> ReplaceRings:
        """Return the use case."""
        return ReplaceRings(
            self.backup_settings,
            self._secrets,
            self._locks,
            open_folder=open_folder,
            clock=_now,
        )

    def copies_to_replace(self) -> tuple[str, ...]:
        """Replace the ring in every backup folder; return, in words, where it could not be."""
        self.sweep_backup_work()
        try:
            return copies_in_words(self.replace_rings()())
        except ChordlineError as error:
            # She is erased whatever becomes of the rings; the receipt says what is left to do.
            return (f"Whether a backup folder still holds her key is not known: {error}.",)

    def check_backup(
        self,
        file: Path,
        *,
        unlock: Callable[[Vault], None] | None = None,
        progress: Progress | None = None,
        stop: Stop = lambda: None,
    ) -> Checked:
        """Check a backup.

        Parameters
        ----------
        file : Path
        unlock : callable, optional
            Unlocks the vault of a backup of another club, or of records that are lost.
        progress, stop
        """
        from chordline.adapters.backup.container import open_container  # noqa: PLC0415
        from chordline.adapters.backup.records_copy import check_copy  # noqa: PLC0415
        from chordline.adapters.backup.sealed_files import SealedFiles  # noqa: PLC0415

        folder = open_folder(str(file.parent))
        with self._vault_of(folder, file.name, unlock) as (keys, vault, own):
            opened = open_container(file, keys)
            try:
                check = CheckBackup(
                    check_copy,
                    self.backup_settings,
                    ring_ids=lambda one: _ring_ids(one, vault),
                    sample=self._open_sample if own else lambda *_: Sampled(),
                    ours=SealedFiles(self.data_folder / "photos") if own else None,
                    clock=_now,
                )
                with self._locks.backing_up(), self._emptied_workplace() as work:
                    return check(folder, file.name, opened, work, progress=progress, stop=stop)
            finally:
                opened.close()

    @contextmanager
    def _vault_of(
        self, folder: Folder, name: str, unlock: Callable[[Vault], None] | None
    ) -> "Iterator[tuple[ReadingKeys, Vault, bool]]":
        from chordline.adapters.backup.keys import reading_keys  # noqa: PLC0415
        from chordline.adapters.vault.club_key import read_key_file  # noqa: PLC0415
        from chordline.adapters.vault.club_vault import ClubVault  # noqa: PLC0415

        opening = folder.opening(name)
        try:
            ours = read_key_file(self.data_folder / "club.key")
        except VaultError:
            ours = None
        if ours is not None and ours.id == opening.key_id:
            if not self.vault.opens():
                raise VaultLockedError
            yield reading_keys(self.vault), self.vault, True
            return
        if unlock is None:
            raise BackupError(f"{name} is of another club; 'chordline backup --check' asks for it")
        with tempfile.TemporaryDirectory(prefix="chordline-") as work:
            place = Path(work) / "club.key"
            place.write_bytes(opening.club_key)
            theirs = ClubVault(place, is_new=lambda: False)
            unlock(theirs)
            try:
                yield reading_keys(theirs), theirs, False
            finally:
                theirs.lock()

    def examine_database(self) -> Finding:
        """Return whether the database is whole."""
        from chordline.adapters.backup.database_health import (  # noqa: PLC0415
            examine_postgresql,
            examine_sqlite,
        )

        file = self._records_file()
        if file is not None:
            return examine_sqlite(file)
        assert self.database is not None
        return examine_postgresql(self.database)

    def examine_backups(self) -> tuple[Finding, ...]:
        """Return what there is to say of backups and of the clock."""
        try:
            settings = self.backup_settings.read()
        except BackupError as error:
            return (Finding("backups", "broken", str(error)),)
        seen = look_at_backups(settings, open_folder)
        now = _now()
        return (
            *examine_backups(
                settings,
                seen,
                now=now,
                same_disk=self.backs_up_to_same_disk(settings),
                size_bytes=self._size_bytes(),
            ),
            *examine_clock(now, self._newest(seen)),
        )

    def backups_to_heed(self) -> tuple[str, ...]:
        """Return what is to be done about backups, for the first page; quick."""
        try:
            settings = self.backup_settings.read()
        except BackupError as error:
            return (str(error),)
        if settings.folder is None:
            return ()
        seen = look_at_backups(settings, open_folder)
        found = examine_backups(settings, seen, now=_now(), same_disk=False, size_bytes=0)
        return tuple(f"{one.what}: {one.told}" for one in found if one.state != "well")

    def backs_up_to_same_disk(self, settings: BackupSettings) -> bool:
        """Return whether the backup folder lies on the disk of the records."""
        try:
            here, there = self.data_folder.stat(), Path(settings.folder or "").stat()
        except OSError:
            return False
        return settings.folder is not None and here.st_dev == there.st_dev

    def _size_bytes(self) -> int:
        folder = self.data_folder
        files = (*folder.glob("records.sqlite*"), *(folder / "photos").glob("??/*"))
        return sum(_stat_or_none(one, "st_size") or 0 for one in files)

    def _newest(self, seen: BackupsSeen) -> datetime | None:
        found = [] if seen.latest is None else [seen.latest]
        written = _stat_or_none(self.data_folder / "records.sqlite", "st_mtime")
        if written is not None:
            found.append(datetime.fromtimestamp(written, UTC))
        return max(found, default=None)

    def _copier(self) -> CopyRecords:
        from chordline.adapters.backup.records_copy import (  # noqa: PLC0415
            PostgresqlCopier,
            SqliteCopier,
        )

        # Opened first: only records of this program's schema are copied.
        _ = self.records
        file = self._records_file()
        if file is not None:
            return SqliteCopier(file)
        assert self.database is not None
        return PostgresqlCopier(self.database)

    def _records_file(self) -> Path | None:
        """Return the file of the records; None where they are in PostgreSQL."""
        if self.database is None:
            return self.data_folder / "records.sqlite"
        kind, _, path = self.database.partition(":///")
        return Path(path) if kind.startswith("sqlite") else None

    def _still_named(self, keys: Iterable[str]) -> frozenset[str]:
        asked = list(keys)
        with self.records.reading() as tx:
            return frozenset(asked) - frozenset(tx.photos.not_needed(asked))

    def _open_sample(self, folder: Folder, pictures: Sequence[SealedPicture]) -> Sampled:
        """Decrypt some pictures where they lie in a folder; none where the vault is locked."""
        from chordline.adapters.vault.store import SealedPhotoStore  # noqa: PLC0415

        if self.vault.locked or not pictures:
            return Sampled()
        store = SealedPhotoStore(
            folder.path / "pictures", self.vault, wrapped=self._wrapped_key, unfiled=str
        )
        opened, spoilt = 0, []
        for one in pictures[:: max(1, -(-len(pictures) // _SAMPLE))]:
            if self._wrapped_key(one.name.split("-")[1]) is None:
                continue  # erased since
            try:
                with store.open_file(one.name) as file:
                    while file.read(1 << 20):
                        pass
            except VaultLockedError:
                raise
            except PhotoStoreError:
                spoilt.append(one.name)
            else:
                opened += 1
        return Sampled(opened, tuple(spoilt))


def restore_backup(
    wanted: "Wanted",
    unlock: Callable[[Vault], None],
    *,
    new_passphrase: Callable[[], str] = lambda: "",
    club_catalogue: Path | None = None,
    progress: Progress | None = None,
    stop: Stop = lambda: None,
) -> Restored:
    """Restore a backup into a data folder."""
    from chordline.adapters.backup.restore import RestoreBackup  # noqa: PLC0415

    def stage(folder: Path) -> "StagedClub":
        return Backups(club_catalogue=club_catalogue, data=folder)

    return RestoreBackup(stage, unlock, new_passphrase)(wanted, progress=progress, stop=stop)


def data_folder_of(named: Path | None, from_environment: str | None) -> Path:
    """Return the data folder that is meant, without making it."""
    if named is not None:
        return named
    if from_environment:
        return Path(from_environment)
    return user_data_path("chordline", appauthor=False)


def open_folder(path: str) -> Folder:
    """Return a folder of backups."""
    from chordline.adapters.backup.folder import BackupFolder  # noqa: PLC0415

    return BackupFolder(Path(path))


def _ring_ids(folder: Folder, vault: Vault) -> frozenset[str] | None:
    from chordline.adapters.backup.ring_file import read_ring  # noqa: PLC0415

    ring = read_ring(folder.read_beside("ring"), vault)
    return None if ring is None else frozenset(one["id"] for one in ring)


def _stat_or_none(path: Path, what: str) -> int | None:
    try:
        return int(getattr(path.stat(), what))
    except OSError:
        return None


def _now() -> datetime:
    return datetime.now(UTC)
