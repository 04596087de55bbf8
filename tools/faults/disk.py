"""A disk that is full, or cannot be written: a sentence, and nothing acknowledged is lost.

Needs the right to mount a small disk in memory (Linux, root); left out elsewhere.
"""

import os
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from datetime import date
from pathlib import Path
from typing import Any

from chordline.application.club.records import NewGymnast, NewPhoto
from chordline.application.marks import HandMarks, Mark
from chordline.bootstrap import App
from chordline.errors import ChordlineError
from faults.attempt import peak_mb
from faults.row import Budget, Row

_DISK_KB = 6_000
_PASSPHRASE = "four words that hop along"
_DAY = date(2026, 11, 2)


@contextmanager
def small_disk() -> Iterator[Path | None]:
    """Yield a folder on a disk of some megabytes; None where none can be mounted."""
    place = Path(tempfile.mkdtemp(prefix="chordline-disk-"))
    mounted = sys.platform == "linux" and _mounts("-t", "tmpfs", "-o", f"size={_DISK_KB}k", place)
    try:
        yield place if mounted else None
    finally:
        if mounted:
            subprocess.run(["umount", "-l", str(place)], check=False, capture_output=True)
        shutil.rmtree(place, ignore_errors=True)


def _mounts(*said: object) -> bool:
    mount = shutil.which("mount")
    if mount is None or os.geteuid() != 0:
        return False
    source = [] if "remount" in str(said) else ["tmpfs"]
    *options, place = map(str, said)
    command = [mount, *options, *source, place]
    return subprocess.run(command, check=False, capture_output=True).returncode == 0


class _Club:
    """A club, and what it was told is kept."""

    def __init__(self, folder: Path) -> None:
        self.app = App(data=folder)
        self.kept: dict[str, bytes] = {}
        self.marks: dict[int, int] = {}
        club = self.app.club()
        with self.app.records.transaction() as tx:
            self.her = tx.gymnasts.add(club.id, NewGymnast("Anna"))
            self.key_id = self.app.photo_store.key_for(tx.keys, club.id, self.her.id)
            self.screen = tx.screens.on(self.her.id, _DAY)
        self.upload(1000)

    def upload(self, size: int) -> None:
        """Take a picture in, as the pages do: kept first, then filed."""
        content = os.urandom(size)
        key = self.app.photo_store.put(content, self.key_id)
        number = len(self.kept)
        new = NewPhoto(
            name=f"{number}.jpg",
            sha256=f"{number:064x}",
            size_bytes=size,
            content_key=key,
            screen_id=self.screen.id,
        )
        with self.app.records.transaction() as tx:
            tx.photos.file(self.her.club_id, new)
        self.kept[key] = content

    def mark(self) -> None:
        """Save marks of the first photo."""
        marks = HandMarks(
            "left", "down", {f"back_{n}": Mark(float(n), 1.0, 4.0, "hand") for n in range(200)}
        )
        base = self.marks.get(1, 0)
        with self.app.records.transaction() as tx:
            saved = tx.photos.save_marks(1, marks, author="Kim", base_version=base)
        self.marks[1] = saved.version

    def import_roster(self) -> None:
        """Let many gymnasts come at once."""
        with self.app.records.transaction() as tx:
            for number in range(2000):
                tx.gymnasts.add(self.her.club_id, NewGymnast(f"G{number} {'x' * 150}"))

    def lost(self) -> list[str]:
        """Return what was acknowledged and is not there any more."""
        lost = []
        for key, content in self.kept.items():
            try:
                whole = self.app.photo_store.open(key) == content
            except ChordlineError:
                whole = False
            if not whole:
                lost.append(f"picture {key}")
        with self.app.records.reading() as tx:
            history = {one.version for one in tx.photos.marks_history(1)}
            named = tx.photos.counts(self.her.club_id).waiting
        if not set(range(1, self.marks.get(1, 0) + 1)) <= history:
            lost.append("marks")
        if named < len(self.kept):
            lost.append(f"{len(self.kept) - named} photos")
        return lost


def run(budget: Budget) -> Row:
    """Try them."""
    row = Row("disk")
    del budget
    for case in (_full_while_working, _full_while_backing_up, _full_at_the_start, _read_only):
        with small_disk() as disk:
            if disk is None:
                row.notes.append("left out: no disk can be mounted here")
                return row
            start = time.perf_counter()
            with tempfile.TemporaryDirectory() as elsewhere:
                case(row, disk, Path(elsewhere))
            row.worst_s = max(row.worst_s, time.perf_counter() - start)
    row.peak_mb = peak_mb()
    return row


def _expect_sentence(row: Row, what: str, doing: Callable[[], Any]) -> None:
    row.cases += 1
    try:
        doing()
    except ChordlineError as error:
        if len(str(error)) < 20:
            _found(row, f"{what}: no sentence ({error})")
    except Exception as error:
        _found(row, f"{what}: {type(error).__name__}: {error}")
    else:
        _found(row, f"{what}: nothing was said")


def _expect(row: Row, what: str, *, holds: bool) -> None:
    row.cases += 1
    if not holds:
        _found(row, what)


def _found(row: Row, why: str) -> None:
    row.found += 1
    row.notes.append(why)


@contextmanager
def _filled(disk: Path, *, left_bytes: int = 0) -> Iterator[None]:
    ballast = disk / "ballast"
    free = shutil.disk_usage(disk).free - left_bytes
    ballast.write_bytes(bytes(max(0, free)))
    try:
        yield
    finally:
        ballast.unlink()


def _until_refused(row: Row, what: str, doing: Callable[[], None]) -> None:
    def again() -> None:
        for _ in range(10_000):
            doing()

    _expect_sentence(row, what, again)


def _full_while_working(row: Row, disk: Path, elsewhere: Path) -> None:
    del elsewhere
    club = _Club(disk / "club")
    with _filled(disk, left_bytes=300_000):
        _until_refused(row, "uploads until the disk is full", lambda: club.upload(40_000))
        _until_refused(row, "marks until the disk is full", club.mark)
        _expect_sentence(row, "an import on a full disk", club.import_roster)
        _expect(row, f"lost on a full disk: {club.lost()}", holds=not club.lost())
    club.upload(1000)
    club.mark()
    _expect(row, f"lost after room was made: {club.lost()}", holds=not club.lost())
    club.app.records.close()


def _full_while_backing_up(row: Row, disk: Path, elsewhere: Path) -> None:
    club = _Club(elsewhere / "club")
    club.app.vault.set_passphrase(_PASSPHRASE)
    folder = disk / "stick"
    # Too small for the room that is left free: only the write itself can tell.
    import chordline.application.backup.make_backup as making  # noqa: PLC0415

    spare, making._SPARE = making._SPARE, -(10**9)
    try:
        club.app.make_backup().use_folder(str(folder))
        first = club.app.make_backup()()
        for _ in range(20):
            club.upload(50_000)
        for left in (0, 2_000, 300_000):
            with _filled(disk, left_bytes=left):
                _expect_sentence(row, f"a backup with {left} bytes free", club.app.make_backup())
        _expect(row, "a half backup", holds=[*folder.glob("*.backup")] == [folder / first.name])
        found = club.app.check_backup(folder / first.name)
        _expect(row, "the backup of before is damaged", holds=not found.damaged)
        made = club.app.make_backup()()
        _expect(row, "the next backup", holds=made.pictures == len(club.kept))
    finally:
        making._SPARE = spare
    club.app.records.close()


def _full_at_the_start(row: Row, disk: Path, elsewhere: Path) -> None:
    del elsewhere
    # A file without a byte is what a kill leaves of the first moment.
    (disk / "a").mkdir()
    (disk / "a" / "records.sqlite").touch()
    with _filled(disk, left_bytes=40_000):
        _expect_sentence(row, "new records on a full disk", lambda: App(data=disk / "a").club())
    app = App(data=disk / "a")
    app.club()
    app.records.close()
    _expect(row, "records after room was made", holds=True)


def _read_only(row: Row, disk: Path, elsewhere: Path) -> None:
    club = _Club(disk / "club")
    club.app.vault.set_passphrase(_PASSPHRASE)
    club.app.make_backup().use_folder(str(elsewhere / "stick"))
    club.app.records.scrub()
    club.app.records.close()
    if not _mounts("-o", "remount,ro", disk):
        row.notes.append("left out: the disk cannot be made read-only")
        return
    reopened = App(data=disk / "club")

    def write() -> None:
        with reopened.records.transaction() as tx:
            tx.gymnasts.add(reopened.club().id, NewGymnast("Bea"))

    _expect_sentence(row, "records on a read-only disk", write)
    with suppress(ChordlineError):
        reopened.vault.unlock(_PASSPHRASE)
    put = reopened.photo_store.put if _opens(reopened) else None
    if put is not None:
        _expect_sentence(row, "a picture on a read-only disk", lambda: put(b"x", club.key_id))
    _expect_sentence(row, "a backup of a read-only disk", _backing_up(reopened))
    _mounts("-o", "remount,rw", disk)
    club.app = App(data=disk / "club", passphrase=_PASSPHRASE)
    _expect(row, f"lost: {club.lost()}", holds=not club.lost())
    club.app.records.close()


def _backing_up(app: App) -> Callable[[], object]:
    def back_up() -> object:
        return app.make_backup()()

    return back_up


def _opens(app: App) -> bool:
    try:
        _ = app.photo_store
    except ChordlineError:
        return False
    return True
