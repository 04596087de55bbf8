"""Implements `Writer`: packs, encrypts, writes, has it read again, and only then gives the name."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path

from chordline.adapters.backup.container import open_container, pack, write_container
from chordline.adapters.backup.keys import WritingKeys
from chordline.application.backup.ports import BackupFile, Folder, Stop
from chordline.application.backup.records import Manifest, Opening, backup_name
from chordline.errors import BackupError


def _free_name(folder: Folder, made_at: datetime) -> str:
    """Return a name that no backup has: two of one second must not become one."""
    taken = set(folder.names())
    while (name := backup_name(made_at)) in taken:
        made_at += timedelta(seconds=1)
    return name


class ContainerWriter:
    """Writes backup files.

    Parameters
    ----------
    keys : callable
        Gives the keys that write.
    workplace : Path
        Where parts are packed; on the disk of the records, which holds the same in clear.
    """

    def __init__(self, keys: Callable[[], WritingKeys], workplace: Path) -> None:
        self._keys = keys
        self._workplace = workplace

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
        """Write a backup of named files; return its name and the manifest with its parts."""
        parts, packed = [], []
        try:
            for number, (name, path) in enumerate(files):
                packed.append(self._workplace / f"part-{number}")
                parts.append(pack(path, packed[-1], name, stop))
        except OSError as error:
            raise BackupError(
                f"there is no room to pack the records ({error.strerror}); make room on the disk "
                "of the records. Nothing else was changed"
            ) from None
        whole = replace(manifest, parts=tuple(parts))
        pieces, file_key = write_container(opening, whole, packed, self._keys(), stop)
        name = _free_name(folder, opening.made_at)
        unfinished = folder.write_backup(name, pieces)
        try:
            written = open_container(unfinished, file_key)
            try:
                check(written)
            finally:
                written.close()
            folder.finish(unfinished, name)
        except BaseException:
            unfinished.unlink(missing_ok=True)
            raise
        return name, whole
