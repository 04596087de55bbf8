"""A club is backed up and comes back, in both databases, while others write, after kills."""

import contextlib
import os
import sqlite3
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlalchemy import select

from backup_stories import BackedUpClub, backed_up_club, repacked
from chordline.adapters.db.engine import make_engine
from chordline.adapters.db.records import open_records
from chordline.adapters.db.schema import METADATA
from chordline.application.backup.records import moment_of
from chordline.application.club.records import NewGymnast
from chordline.errors import BackupError, NewerRecordsError

_LEFT_OUT = {"vault_key", "login", "pairing"}


@pytest.fixture
def club(tmp_path: Path, address: str) -> Iterator[BackedUpClub]:
    made = backed_up_club(tmp_path, address)
    yield made
    made.close()


def _rows(address: str) -> dict[str, list[tuple[object, ...]]]:
    engine = make_engine(address)
    try:
        with engine.connect() as connection:
            return {
                table.name: sorted(
                    (tuple(row) for row in connection.execute(select(table))), key=str
                )
                for table in METADATA.sorted_tables
                if table.name not in _LEFT_OUT
            }
    finally:
        engine.dispose()


def test_everything_comes_back(club: BackedUpClub, address: str, tmp_path: Path):
    made = club.back_up()
    done = club.restore(made.name, tmp_path / "again")
    assert (done.pictures, done.damaged, done.erased_again) == (4, (), 0)
    assert _rows(f"sqlite:///{tmp_path / 'again' / 'records.sqlite'}") == _rows(address)
    again = club.open_restored(tmp_path / "again")
    assert {key: again.photo_store.open(key) for key in club.pictures} == club.pictures
    # Numbers that were given go on where they were.
    with again.records.transaction() as tx:
        new = tx.gymnasts.add(again.club().id, NewGymnast("Cleo"))
    assert new.id == max(row[0] for row in _rows(address)["gymnast"]) + 1
    again.records.close()


def test_a_backup_of_either_is_restored_into_an_empty_postgresql(
    club: BackedUpClub, address: str, tmp_path: Path, postgres_server: str
):
    from private_postgres import run_sql  # noqa: PLC0415

    name = f"restored_{os.getpid()}_{time.monotonic_ns()}"
    run_sql(f"{postgres_server}/postgres", f"CREATE DATABASE {name}")
    database = f"{postgres_server}/{name}"
    before = _rows(address)
    made = club.back_up()
    club.restore(made.name, tmp_path / "again", database=database)
    assert _rows(database) == before
    assert not (tmp_path / "again" / "records.sqlite").exists()
    again = club.open_restored(tmp_path / "again", database)
    assert {key: again.photo_store.open(key) for key in club.pictures} == club.pictures
    with again.records.transaction() as tx:
        tx.gymnasts.add(again.club().id, NewGymnast("Cleo"))
    again.records.close()
    with pytest.raises(BackupError, match="holds records"):
        club.restore(made.name, tmp_path / "third", database=database)
    assert not (tmp_path / "third").exists()


def test_what_was_acknowledged_before_the_start_is_in_it_while_others_write(
    club: BackedUpClub, address: str, tmp_path: Path
):
    ended, written = threading.Event(), []

    def write() -> None:
        records = open_records(address)
        number = 0
        while not ended.is_set():
            with records.transaction() as tx:
                tx.gymnasts.add(club.app.club().id, NewGymnast(f"G{number}"))
            written.append(f"G{number}")
            number += 1
        records.close()

    writer = threading.Thread(target=write)
    writer.start()
    try:
        while len(written) < 5:
            time.sleep(0.005)
        before = list(written)
        made = club.back_up()
        while len(written) < made.manifest.counts["gymnast"] + 2:
            time.sleep(0.005)
    finally:
        ended.set()
        writer.join()
    club.restore(made.name, tmp_path / "again")
    there = {row[2] for row in _rows(f"sqlite:///{tmp_path}/again/records.sqlite")["gymnast"]}
    in_order = [name for name in written if name in there]
    assert set(before) <= there
    # One moment: nothing is missing between the first and the last that it has.
    assert in_order == written[: len(in_order)]


#: Forks a process that makes backups, kills it, and again; what it leaves is looked at behind.
_KILLED = """
import os, signal, sys, time
from pathlib import Path
sys.path.insert(0, sys.argv[2])
from backup_stories import open_club
for number in range(5):
    child = os.fork()
    if child == 0:
        club = open_club(Path(sys.argv[1]))
        while True:
            club.make_backup()()
    time.sleep(0.1 + 0.11 * number)
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
"""


@pytest.mark.slow
def test_a_killed_backup_leaves_nothing_half(tmp_path: Path):
    club = backed_up_club(tmp_path)
    club.add("Cleo", photos=30)
    club.back_up()
    tests = str(Path(__file__).parent.parent)
    subprocess.run([sys.executable, "-c", _KILLED, str(tmp_path / "club"), tests], check=True)
    whole = [name for name in os.listdir(club.folder) if moment_of(name) is not None]
    for name in whole:
        found = club.app.check_backup(club.folder / name)
        assert (found.pictures, found.damaged) == (34, ())
    club.back_up()
    left = [*club.folder.rglob("unfinished-*"), tmp_path / "club" / "backup-work"]
    assert [one for one in left if one.exists()] == []
    club.close()


def test_records_of_an_older_program_are_brought_up_to_date(tmp_path: Path):
    club = backed_up_club(tmp_path)

    def set_back(records: Path) -> None:
        with contextlib.closing(sqlite3.connect(records)) as connection:
            connection.execute("DROP TABLE erased")
            for column in ("consent_said_on", "consent_said_by", "consent_note"):
                connection.execute(f"ALTER TABLE gymnast DROP COLUMN {column}")
            connection.execute("UPDATE alembic_version SET version_num = '0009'")
            connection.commit()

    older = repacked(club, club.back_up(), set_back)
    done = club.restore(older, tmp_path / "again")
    assert (done.migrated_from, done.pictures) == ("0009", 4)
    again = club.open_restored(tmp_path / "again")
    with again.records.reading() as tx:
        assert [one.name for one in tx.gymnasts.named(again.club().id, "Anna")] == ["Anna"]
    again.records.close()
    club.close()


def test_records_of_a_newer_program_are_refused_and_nothing_is_changed(tmp_path: Path):
    club = backed_up_club(tmp_path)

    def set_ahead(records: Path) -> None:
        with contextlib.closing(sqlite3.connect(records)) as connection:
            connection.execute("UPDATE alembic_version SET version_num = '9999'")
            connection.commit()

    newer = repacked(club, club.back_up(), set_ahead)
    with pytest.raises(NewerRecordsError):
        club.restore(newer, tmp_path / "again")
    assert sorted(one.name for one in tmp_path.iterdir() if one.is_dir()) == ["club", "stick"]
    club.close()
