"""The ring of keys beside the backups: replaced wherever there is one."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime

from chordline.application.backup.ports import Clock, Folder, Locks, Secrets, SettingsBook
from chordline.application.backup.records import BackupSettings, key_id_of
from chordline.errors import BackupError, ChordlineError

RING, ERASED = "ring", "erased"


@dataclass(frozen=True)
class RingReplaced:
    """What became of the rings.

    Attributes
    ----------
    done : tuple of str
        Folders in which it was replaced.
    due : tuple of str
        Folders that could not be reached, or whose ring waits until the vault is open.
    """

    done: tuple[str, ...]
    due: tuple[str, ...]


class ReplaceRings:
    """Use case: let no backup folder hold a key that is not in the records any more.

    After erasing somebody, and whenever a folder that was away is back. Her sealed files in the
    folder are deleted with her key.
    """

    def __init__(
        self,
        settings: SettingsBook,
        secrets: Secrets,
        locks: Locks,
        *,
        open_folder: Callable[[str], Folder],
        clock: Clock,
    ) -> None:
        self._settings = settings
        self._secrets = secrets
        self._locks = locks
        self._open_folder = open_folder
        self._clock = clock

    def __call__(self) -> RingReplaced:
        """Replace it in every folder that is known; those that cannot be reached are noted."""
        done: list[str] = []
        due: list[str] = []
        for one in self._settings.read().folders:
            try:
                replaced = self.replace_in(self._open_folder(one.path))
            except ChordlineError:
                replaced = False
            (done if replaced else due).append(one.path)
        now = self._clock()
        if due:
            self._settings.change(lambda one: _noted(one, set(due), now))
        return RingReplaced(tuple(done), tuple(due))

    def again(self) -> RingReplaced:
        """Do it where it is still to be done; cheap where nothing is."""
        if not any(one.ring_due_since for one in self._settings.read().folders):
            return RingReplaced((), ())
        return self()

    def replace_in(self, folder: Folder) -> bool:
        """Replace it in one folder; False where the vault is locked.

        Raises
        ------
        BackupError
            Where the folder cannot be written, or where the vault is locked and the folder's ring
            lacks keys that are needed.
        """
        with self._locks.ring():
            before = folder.read_beside(RING)
            ring = self._secrets.ring(before, folder.read_beside(ERASED))
            if ring is None:
                if self._secrets.lacks(before):
                    raise BackupError(
                        "the pictures are locked, and the backup folder lacks keys of theirs: "
                        "unlock them once, then make the backup"
                    )
                return not self._secrets.is_due(before)
            folder.write_beside(RING, ring.keys)
            folder.write_beside(ERASED, ring.erased)
            if ring.dropped:
                for name in list(folder.pictures()):
                    if key_id_of(name) in ring.dropped:
                        folder.remove_picture(name)
        path = str(folder.path)
        self._settings.change(lambda one: _done(one, path))
        return True


def copies_in_words(replaced: RingReplaced) -> tuple[str, ...]:
    """Return the copies that still hold a key of somebody who was erased, for her receipt."""
    return tuple(
        f"The backup folder {path} could not be changed now. Until it is, its old ring of keys "
        "opens her pictures there for whoever knows the passphrase. Connect the disk and unlock "
        "the pictures: chordline then replaces the ring by itself, or with 'chordline backup "
        "--rings'."
        for path in replaced.due
    )


def _noted(settings: BackupSettings, due: set[str], now: datetime) -> BackupSettings:
    return replace(
        settings,
        folders=tuple(
            replace(one, ring_due_since=one.ring_due_since or now) if one.path in due else one
            for one in settings.folders
        ),
    )


def _done(settings: BackupSettings, path: str) -> BackupSettings:
    return replace(
        settings,
        folders=tuple(
            replace(one, ring_due_since=None) if one.path == path else one
            for one in settings.folders
        ),
    )
