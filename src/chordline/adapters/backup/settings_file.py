"""What this machine knows of backups, in a file beside the records.

Not in the records: folders belong to a machine, and a restored or shared database knows nothing of
the disks of another.
"""

import json
from collections.abc import Callable
from datetime import datetime, time
from pathlib import Path
from typing import Any

from chordline.adapters.backup.locks import FileLocks
from chordline.adapters.vault.places import write_whole
from chordline.application.backup.records import BackupNote, BackupSettings, FolderNote, Keep
from chordline.errors import BackupError

_SCHEMA = "chordline.backup-settings/1"


class SettingsFile:
    """Implements `SettingsBook`."""

    def __init__(self, place: Path, locks: FileLocks) -> None:
        self._place = place
        self._locks = locks

    def read(self) -> BackupSettings:
        """Return it; what was never said is as assumed."""
        try:
            record = json.loads(self._place.read_bytes())
        except FileNotFoundError:
            return BackupSettings()
        except (OSError, ValueError):
            raise self._unreadable() from None
        try:
            return _settings(record)
        except (ValueError, KeyError, TypeError, AttributeError):
            raise self._unreadable() from None

    def change(self, how: Callable[[BackupSettings], BackupSettings]) -> BackupSettings:
        """Change it, one at a time."""
        with self._locks.settings():
            changed = how(self.read())
            text = json.dumps(_record(changed), indent=1) + "\n"
            try:
                write_whole(self._place, [text.encode()])
            except OSError as error:
                raise BackupError(f"{self._place} cannot be written ({error.strerror})") from None
            return changed

    def _unreadable(self) -> BackupError:
        return BackupError(
            f"{self._place} cannot be read; delete it and name the folder of backups again"
        )


def _record(one: BackupSettings) -> dict[str, Any]:
    return {
        "schema": _SCHEMA,
        "folders": [
            {"path": each.path, "ring_due_since": _text(each.ring_due_since)}
            for each in one.folders
        ],
        "daily_at": None if one.daily_at is None else f"{one.daily_at:%H:%M}",
        "keep": [one.keep.daily, one.keep.weekly, one.keep.monthly],
        "warn_after_days": one.warn_after_days,
        "checked": {
            name: {
                "at": _text(note.checked_at),
                "size_bytes": note.size_bytes,
                "pictures": note.pictures,
                "missing": note.missing,
            }
            for name, note in one.checked.items()
        },
        "failed_at": _text(one.failed_at),
        "failure": one.failure,
    }


def _settings(record: dict[str, Any]) -> BackupSettings:
    if record["schema"] != _SCHEMA:
        raise ValueError
    daily, weekly, monthly = map(int, record["keep"])
    return BackupSettings(
        folders=tuple(
            FolderNote(str(one["path"]), _moment(one["ring_due_since"]))
            for one in record["folders"]
        ),
        daily_at=None if record["daily_at"] is None else time.fromisoformat(record["daily_at"]),
        keep=Keep(max(1, daily), max(0, weekly), max(0, monthly)),
        warn_after_days=int(record["warn_after_days"]),
        checked={
            str(name): BackupNote(
                datetime.fromisoformat(one["at"]),
                int(one["size_bytes"]),
                int(one["pictures"]),
                int(one["missing"]),
            )
            for name, one in record["checked"].items()
        },
        failed_at=_moment(record["failed_at"]),
        failure=str(record["failure"]),
    )


def _text(at: datetime | None) -> str | None:
    return None if at is None else at.isoformat()


def _moment(text: str | None) -> datetime | None:
    return None if text is None else datetime.fromisoformat(text)
