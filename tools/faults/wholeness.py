"""Whether a data folder is whole after a kill, as it lies on the disk."""

import hashlib
import sqlite3
from contextlib import closing
from pathlib import Path

from chordline.application.club.pictures_health import examine_pictures
from chordline.bootstrap import App
from chordline.errors import ChordlineError

#: Stands in every picture, video and name that is sent: where it is found, something is plain.
SIGN = b"chordline-lay-here-in-plain"
#: Where names and words may stand readable (docs/security.md).
_READABLE = ("records.sqlite", "records.sqlite-wal", "records.sqlite-shm", "screen.csv")


class Wholeness:
    """Looks at one data folder again and again; a picture that was whole is not opened twice."""

    def __init__(self, folder: Path, *, plain_allowed: bool = False) -> None:
        self._folder = folder
        self._plain_allowed = plain_allowed
        self._opened: set[str] = set()

    def faults(self, app: App) -> list[str]:
        """Return what is not as it has to be, in words."""
        return [*self._of_database(), *self._of_pictures(app), *self._of_plaintext()]

    def _of_database(self) -> list[str]:
        found = []
        with closing(sqlite3.connect(self._folder / "records.sqlite")) as file:
            if (told := file.execute("PRAGMA integrity_check").fetchall()) != [("ok",)]:
                found.append(f"integrity_check: {told[:3]}")
            if told := file.execute("PRAGMA foreign_key_check").fetchall():
                found.append(f"foreign_key_check: {told[:3]}")
        return found

    def _of_pictures(self, app: App) -> list[str]:
        found = [
            f"{one.what}: {one.told}"
            for one in examine_pictures(app.records, app.club().id, app.photo_store, app.vault)
            if one.state != "well"
        ]
        for table in ("photo", "video"):
            for key, sha256 in self._named(table):
                if key in self._opened:
                    continue
                digest = hashlib.sha256()
                try:
                    with app.photo_store.open_file(key) as file:
                        while piece := file.read(1 << 20):
                            digest.update(piece)
                except ChordlineError as error:
                    found.append(f"a {table} does not open: {error}")
                    continue
                if digest.hexdigest() == sha256:
                    self._opened.add(key)
                else:
                    found.append(f"a {table} has other bytes than were sent")
        return found

    def _named(self, table: str) -> list[tuple[str, str]]:
        with closing(sqlite3.connect(self._folder / "records.sqlite")) as file:
            return file.execute(
                f"SELECT content_key, sha256 FROM {table} WHERE content_key IS NOT NULL"
            ).fetchall()

    def _of_plaintext(self) -> list[str]:
        found = []
        for path in self._folder.rglob("*"):
            plain = path.name.startswith("plain-") and self._plain_allowed
            if path.name in _READABLE or plain or not path.is_file():
                continue
            try:
                content = path.read_bytes()
            except FileNotFoundError:
                continue  # moved to its place meanwhile
            if SIGN in content:
                found.append(f"plain in {path.relative_to(self._folder)}")
        return found
