"""A backup is read from end to end, as restoring it would."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path

from chordline.application.backup.make_backup import RECORDS_PART
from chordline.application.backup.ports import (
    BackupFile,
    Clock,
    Folder,
    Pictures,
    Progress,
    RecordsChecker,
    SettingsBook,
    Stop,
)
from chordline.application.backup.records import (
    BackupNote,
    BackupSettings,
    Checked,
    Sampled,
    SealedPicture,
    key_id_of,
)
from chordline.errors import BackupError


class CheckBackup:
    """Use case: check a backup.

    Parameters
    ----------
    checker : RecordsChecker
    settings : SettingsBook
    ring_ids : callable
        Returns the ids of the keys in a folder's ring; None where it is damaged or missing.
    sample : callable
        Decrypts some pictures in a folder.
    ours : Pictures or None
        The club's own sealed files, where it is the club's own backup: damaged ones are removed
        from the folder, so that the next backup copies them anew.
    clock : Clock
    """

    def __init__(
        self,
        checker: RecordsChecker,
        settings: SettingsBook,
        *,
        ring_ids: Callable[[Folder], frozenset[str] | None],
        sample: Callable[[Folder, Sequence[SealedPicture]], Sampled],
        ours: Pictures | None,
        clock: Clock,
    ) -> None:
        self._checker = checker
        self._settings = settings
        self._ring_ids = ring_ids
        self._sample = sample
        self._ours = ours
        self._clock = clock

    def __call__(
        self,
        folder: Folder,
        name: str,
        backup: BackupFile,
        workplace: Path,
        *,
        progress: Progress | None = None,
        stop: Stop = lambda: None,
    ) -> Checked:
        """Return what was found.

        Raises
        ------
        BackupError
            Where the records in it are damaged; damaged pictures are told in what is returned.
        """
        backup.check(stop)
        again = workplace / "again.sqlite"
        try:
            backup.part(RECORDS_PART, again)
            revision, counts = self._checker(again)
        finally:
            again.unlink(missing_ok=True)
        manifest = backup.manifest
        if (revision, dict(counts)) != (manifest.revision, dict(manifest.counts)):
            raise BackupError(f"{name} does not hold what its list says; use another backup")
        pictures = folder.opening(name).pictures
        ring = self._ring_ids(folder)
        if ring is None and pictures:
            raise BackupError(
                "the ring of keys beside the backup is missing or damaged: no picture would open. "
                "Make a new backup in this folder"
            )
        whole, erased, damaged = [], 0, []
        if progress is not None:
            progress.start(len(pictures))
        for one in pictures:
            stop()
            if ring is not None and key_id_of(one.name) not in ring:
                erased += 1
            elif folder.hash_picture(one.name) == one.sha256:
                whole.append(one)
            else:
                damaged.append(one.name)
            if progress is not None:
                progress.step("")
        sampled = self._sample(folder, whole)
        if not damaged and not sampled.spoilt:
            self._note(folder, name)
        else:
            self._let_copy_anew(folder, damaged)
        return Checked(
            manifest,
            len(whole) - len(sampled.spoilt),
            erased,
            (*damaged, *sampled.spoilt),
            sampled.opened,
        )

    def _let_copy_anew(self, folder: Folder, damaged: Sequence[str]) -> None:
        """Remove damaged pictures that the club still has: the next backup copies them."""
        for name in damaged:
            if self._ours is not None and self._ours.size_bytes(name) is not None:
                folder.remove_picture(name)

    def _note(self, folder: Folder, name: str) -> None:
        def checked(settings: BackupSettings) -> BackupSettings:
            if settings.folder != str(folder.path):
                return settings
            note = settings.checked.get(name) or BackupNote(
                self._clock(), folder.size_of(name), len(folder.opening(name).pictures)
            )
            fresh = replace(note, checked_at=self._clock())
            return replace(settings, checked={**settings.checked, name: fresh})

        self._settings.change(checked)
