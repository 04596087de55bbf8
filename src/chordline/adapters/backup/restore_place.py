"""The data folder that is there already: whether it may be moved aside, and whom it erased."""

import sqlite3
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

from chordline.application.backup.make_backup import RECORDS_PART
from chordline.application.club.erased import Erased
from chordline.errors import BackupError


def look_at_place(to: Path, *, replace: bool) -> None:
    """Refuse a data folder that is not empty, unless it may be moved aside and nobody uses it."""
    if not to.exists():
        return
    if not to.is_dir():
        raise BackupError(f"{to} is no folder; name another with --to")
    if any(to.iterdir()):
        if not replace:
            raise BackupError(
                f"{to} is not empty, and nothing is written over. Restore beside it with --to "
                "FOLDER and look, or say --replace: then what is there is moved aside, not deleted"
            )
        _refuse_in_use(to / RECORDS_PART)


def _refuse_in_use(records: Path) -> None:
    """Refuse while somebody has the records open: what she saves would go aside with them."""
    if not records.exists():
        return
    try:
        with closing(sqlite3.connect(records, timeout=0.5, isolation_level=None)) as connection:
            # Needs the file for itself; set back to WAL by whoever opens it next.
            connection.execute("PRAGMA journal_mode = DELETE")
    except sqlite3.OperationalError as error:
        if "locked" in str(error):
            raise BackupError(
                "chordline is open on these records; end it first ('chordline serve', other "
                "commands), then restore"
            ) from None
    except sqlite3.DatabaseError:
        return  # damaged: that is why a backup is restored


def erased_there(to: Path) -> list[Erased]:
    """Return who was erased, as the records that are replaced tell it."""
    records = to / RECORDS_PART
    if not records.exists():
        return []
    try:
        address = f"{records.absolute().as_uri()}?mode=ro"
        with closing(sqlite3.connect(address, uri=True, timeout=2)) as connection:
            query = 'SELECT gymnast_number, erased_at, "by" FROM erased'
            return [
                Erased(number, datetime.fromisoformat(at).replace(tzinfo=UTC), by)
                for number, at, by in connection.execute(query)
            ]
    except (sqlite3.Error, ValueError):
        return []  # damaged, or of before anybody was noted: the list in the folder knows
