"""A backup: everything, while the club works, checked before it counts."""

import shutil
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from datetime import datetime
from pathlib import Path

from chordline import __version__
from chordline.application.backup.generations import to_keep
from chordline.application.backup.ports import (
    BackupFile,
    Clock,
    CopyRecords,
    Folder,
    Locks,
    Pictures,
    Progress,
    RecordsChecker,
    RecordsCopied,
    Secrets,
    SettingsBook,
    Stop,
    Writer,
)
from chordline.application.backup.records import (
    BackupMade,
    BackupNote,
    BackupSettings,
    FolderNote,
    Manifest,
    Opening,
    Sampled,
    SealedPicture,
    moment_of,
)
from chordline.application.backup.replace_rings import ReplaceRings
from chordline.errors import BackupError, ChordlineError

RECORDS_PART = "records.sqlite"
_PLAIN = "plain-"
#: Room that is left free on a disk, whatever is copied [bytes] (assumption: others write too).
_SPARE = 50_000_000
#: So often the records are copied anew where their pictures moved meanwhile.
_TRIES = 3
#: What lies in the folder is read again once in so many days (assumption: disks fail slowly).
_READ_AGAIN_DAYS = 30


@dataclass(frozen=True)
class BackupTools:
    """What a backup is made with.

    Attributes
    ----------
    workplace : Path
        A folder of its own on the disk of the records; emptied before and after.
    needed : callable
        Returns which of some content keys the records still name.
    sample : callable
        Decrypts some pictures in a folder, where the vault is open.
    """

    copier: CopyRecords
    checker: RecordsChecker
    pictures: Pictures
    secrets: Secrets
    writer: Writer
    settings: SettingsBook
    locks: Locks
    rings: ReplaceRings
    open_folder: Callable[[str], Folder]
    workplace: Path
    needed: Callable[[Iterable[str]], frozenset[str]]
    sample: Callable[[Folder, Sequence[SealedPicture]], Sampled]
    clock: Clock


@dataclass(frozen=True)
class _Needed:
    """Pictures of a backup; which were not in the folder before, and which do not open."""

    folder: Folder
    pictures: Sequence[SealedPicture]
    new: set[str]
    spoilt: list[str] = field(default_factory=list)


class MakeBackup:
    """Use case: make a backup in the folder in use.

    The records are copied first, as they are at one moment, then the sealed files that the copy
    names: files that come meanwhile belong to the next backup, and one that is gone was taken out
    meanwhile. Killed at any moment it leaves unfinished files only, which the next run sweeps away,
    and pictures that the next run need not copy again.
    """

    def __init__(self, tools: BackupTools) -> None:
        self._tools = tools

    def use_folder(self, path: str) -> None:
        """Make backups in this folder from now on; the ones before stay known for their ring."""
        self._tools.open_folder(path).prepare(self._tools.secrets.key_id())

        def first(settings: BackupSettings) -> BackupSettings:
            known = next((one for one in settings.folders if one.path == path), FolderNote(path))
            rest = tuple(one for one in settings.folders if one.path != path)
            return replace(settings, folders=(known, *rest))

        self._tools.settings.change(first)

    def __call__(
        self, *, progress: Progress | None = None, stop: Stop = lambda: None
    ) -> BackupMade:
        """Make one.

        Raises
        ------
        BackupError
            Where none can be made, with the reason; no file is left under the name of a backup.
        BackupStoppedError
            Where `stop` raised it.
        """
        tools = self._tools
        path = tools.settings.read().folder
        if path is None:
            raise BackupError("no backup folder is chosen yet; run 'chordline backup FOLDER' once")
        with tools.locks.backing_up():
            try:
                with self._emptied():
                    made = self._make(tools.open_folder(path), progress, stop)
            except ChordlineError as error:
                self._note_failure(str(error))
                raise
            return made

    def _make(self, folder: Folder, progress: Progress | None, stop: Stop) -> BackupMade:
        tools = self._tools
        key_id = tools.secrets.key_id()
        club_key, needs_no_passphrase = tools.secrets.club_key()
        folder.prepare(key_id)
        self._need_room(folder, tools.copier.size_bytes())
        for _ in range(_TRIES):
            made_at = tools.clock()
            copied = tools.copier.copy(tools.workplace, stop)
            pictures, new, missing, plain = self._copy_pictures(folder, copied, progress, stop)
            lost = tools.needed(missing)
            if len(lost) == len(missing):
                break
            # Some were filed or taken out meanwhile and lie elsewhere now: a newer copy names them.
        opening = Opening(made_at, club_key, needs_no_passphrase, key_id, pictures)
        manifest = Manifest(
            made_at, __version__, copied.revision, copied.counts, parts=(), missing=missing
        )
        files = [(RECORDS_PART, copied.place), *plain]
        needed = _Needed(folder, pictures, new)
        name, manifest = tools.writer.write(
            folder,
            opening,
            manifest,
            files,
            check=lambda written: self._check(written, copied, needed, stop),
            stop=stop,
        )
        ring_due = not tools.rings.replace_in(folder)
        folder.write_beside("club.key", club_key)
        pruned = self._prune(folder, name)
        size = folder.size_of(name)
        note = BackupNote(tools.clock(), size, len(pictures), len(missing))
        self._note(folder, name, note)
        return BackupMade(
            name,
            str(folder.path),
            manifest,
            size,
            pictures=len(pictures),
            copied=len(new),
            lost=tuple(sorted(lost)),
            spoilt=tuple(needed.spoilt),
            pruned=pruned,
            ring_due=ring_due,
        )

    def _copy_pictures(
        self, folder: Folder, copied: RecordsCopied, progress: Progress | None, stop: Stop
    ) -> tuple[tuple[SealedPicture, ...], set[str], tuple[str, ...], list[tuple[str, Path]]]:
        """Return what the backup needs, what is new there, what is missing, and plain files."""
        source = self._tools.pictures
        plain, missing = [], []
        sealed: list[str] = []
        for key in copied.content_keys:
            if not key.startswith(_PLAIN):
                sealed.append(key)
            elif source.size_bytes(key) is None:
                missing.append(key)
            else:
                path = source.path_of(key)
                assert path is not None
                plain.append((key, path))
        known = self._known_in(folder)
        absent = [one for one in sealed if folder.picture_size(one) is None]
        self._need_room(folder, sum(source.size_bytes(one) or 0 for one in absent))
        if progress is not None:
            progress.start(len(sealed))
        found, new = [], set()
        for name in sealed:
            stop()
            one = self._there(folder, name, known)
            if one is None:
                file = source.open(name)
                if file is None:
                    missing.append(name)
                else:
                    with file:
                        one = folder.keep_picture(name, file, stop)
                    new.add(name)
            if one is not None:
                found.append(one)
            if progress is not None:
                progress.step("")
        return tuple(found), new, tuple(sorted(missing)), plain

    def _there(
        self, folder: Folder, name: str, known: dict[str, SealedPicture]
    ) -> SealedPicture | None:
        """Return a sealed file that is in the folder already, whole by its size."""
        size = folder.picture_size(name)
        ours = self._tools.pictures.size_bytes(name)
        if size is None or (ours is not None and ours != size):
            return None
        before = known.get(name)
        if before is not None and before.size_bytes == size:
            if not self._is_turn_of(name):
                return before
            return before if folder.hash_picture(name) == before.sha256 else None
        # Copied by a run that was stopped: no backup lists it yet.
        sha256 = folder.hash_picture(name)
        return None if sha256 is None else SealedPicture(name, size, sha256)

    def _is_turn_of(self, name: str) -> bool:
        """Return whether a picture is read again today; each is once in so many days."""
        day = self._tools.clock().toordinal()
        return int(name[-4:], 16) % _READ_AGAIN_DAYS == day % _READ_AGAIN_DAYS

    def _known_in(self, folder: Folder) -> dict[str, SealedPicture]:
        """Return the pictures that the latest backup with a readable list needs."""
        for name in folder.names():
            try:
                return {one.name: one for one in folder.opening(name).pictures}
            except BackupError:
                continue
        return {}

    def _check(
        self,
        written: BackupFile,
        copied: RecordsCopied,
        needed: _Needed,
        stop: Stop,
    ) -> None:
        """Read again what was written, as a restore would."""
        again = self._tools.workplace / "again.sqlite"
        written.check(stop)
        written.part(RECORDS_PART, again)
        revision, counts = self._tools.checker(again)
        again.unlink()
        if (revision, dict(counts)) != (copied.revision, dict(copied.counts)):
            raise BackupError("the backup does not hold what was copied; the disk may be failing")
        folder = needed.folder
        for one in needed.pictures:
            stop()
            whole = (
                folder.hash_picture(one.name) == one.sha256
                if one.name in needed.new
                else folder.picture_size(one.name) == one.size_bytes
            )
            if not whole:
                raise BackupError(
                    "a picture in the backup folder is not what was copied; the disk may be failing"
                )
        self._open_some(needed)

    def _open_some(self, needed: _Needed) -> None:
        """Note what does not open because it was damaged before; refuse what is so since then."""
        sha256 = {one.name: one.sha256 for one in needed.pictures}
        for name in self._tools.sample(needed.folder, needed.pictures).spoilt:
            if needed.folder.hash_picture(name) == sha256[name]:
                needed.spoilt.append(name)
                continue
            if self._tools.pictures.size_bytes(name) is not None:
                needed.folder.remove_picture(name)
            raise BackupError(
                "a picture in the backup folder has been damaged since it was copied; the disk may "
                "be failing. The next backup copies it anew"
            )

    def _prune(self, folder: Folder, made: str) -> tuple[str, ...]:
        """Remove backups beyond the generations, and pictures that no other needs."""
        keep = self._tools.settings.read().keep
        moments = {name: at for name in folder.names() if (at := moment_of(name)) is not None}
        stay = to_keep(moments.values(), keep)
        pruned = [name for name, at in moments.items() if at not in stay and name != made]
        for name in pruned:
            folder.remove(name)
        needed: set[str] = set()
        for name in moments.keys() - set(pruned):
            try:
                needed.update(one.name for one in folder.opening(name).pictures)
            except BackupError:
                return tuple(pruned)  # nobody knows what it needs: everything stays
        for picture in list(folder.pictures()):
            if picture not in needed:
                folder.remove_picture(picture)
        return tuple(sorted(pruned))

    def _need_room(self, folder: Folder, more: int) -> None:
        free = folder.free_bytes()
        if free < more + _SPARE:
            raise BackupError(
                f"the backup needs about {_gb(more + _SPARE)} more on its disk, and {_gb(free)} "
                "are free; make room there, or name another folder. Nothing was changed"
            )

    @contextmanager
    def _emptied(self) -> Iterator[None]:
        place = self._tools.workplace
        shutil.rmtree(place, ignore_errors=True)
        try:
            place.mkdir(mode=0o700, parents=True)
        except OSError as error:
            raise BackupError(f"{place} cannot be written ({error.strerror})") from None
        try:
            yield
        finally:
            shutil.rmtree(place, ignore_errors=True)

    def _note(self, folder: Folder, name: str, note: BackupNote) -> None:
        there = set(folder.names())

        def checked(settings: BackupSettings) -> BackupSettings:
            notes = {each: one for each, one in settings.checked.items() if each in there}
            return replace(settings, checked={**notes, name: note}, failed_at=None, failure="")

        self._tools.settings.change(checked)

    def _note_failure(self, why: str) -> None:
        at: datetime = self._tools.clock()
        try:
            self._tools.settings.change(lambda one: replace(one, failed_at=at, failure=why))
        except ChordlineError:
            return  # the reason itself is told; a full disk takes no note of it


def _gb(size_bytes: float) -> str:
    return f"{size_bytes / 1e9:.2f} GB"
