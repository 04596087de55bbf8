"""A program killed while it writes, and a disk that is full."""

import random
import sqlite3

import pytest
from sqlalchemy import event

from chordline.adapters.db.records import SqlRecords, open_records
from chordline.application.club.ports import Tx
from chordline.errors import RecordsError
from club_stories import MONDAY, file_photo, found_club, marks_at, measured
from killed_writers import STUDIED, write_until_killed

#: `make faults` kills three hundred times.
KILLS = 8


def acknowledged_and_whole(records: SqlRecords, acknowledged: set[str]) -> int:
    """Check every photo that is there; return how many."""
    with records.reading() as tx:
        club = tx.clubs.all()[0]
        screen = tx.gymnasts.view(tx.gymnasts.named(club.id, "Anna")[0].id).screens[0]
        for view in screen.photos:
            number = int(view.photo.name.removesuffix(".jpg"))
            assert view.photo.state == "measured"
            assert view.marks is not None
            assert view.marks.marks == marks_at(number)
            assert view.measurement is not None
            assert view.measurement.record == measured(number=number)
        assert tx.jobs.counts(club.id)["waiting"] == len(screen.photos)
        there = {view.photo.name.removesuffix(".jpg") for view in screen.photos}
        assert held_and_whole(tx, club.id) == there
        assert studied_and_whole(tx, club.id) == {n for n in there if int(n) % STUDIED == 0}
    assert acknowledged <= there
    return len(there)


def held_and_whole(tx: Tx, club_id: int) -> set[str]:
    """Check every session that is there; return their numbers."""
    (group,) = tx.clubs.groups(club_id)
    (anna,) = tx.gymnasts.named(club_id, "Anna")
    held = tx.training.sessions(group.id)
    for one in held:
        assert one.state == "ended"
        assert one.plan_id is not None
        assert tx.training.plan(one.plan_id).record == one.record
        assert tx.training.attendance(one.id) == {anna.id: True}
    done = {one.session_id for one in tx.training.work([anna.id])}
    assert done == {one.id for one in held}
    return {str(one.record["number"]) for one in held}


def studied_and_whole(tx: Tx, club_id: int) -> set[str]:
    """Check every study that is there, and the errors in use; return their numbers."""
    studies = tx.studies.all(club_id)
    for one in studies:
        (task,) = tx.studies.tasks(one.id)
        assert (task.photo_id,) == one.photos
        assert task.marks == {"number": one.seed}
        assert task.readings["hip_opening_deg"].value == one.seed
    if studies:
        used = tx.studies.noise(club_id)
        assert used is not None
        assert used.record == {"number": studies[0].seed}
    return {str(one.seed) for one in studies}


@pytest.mark.slow
def test_kills_lose_nothing_acknowledged_and_leave_nothing_half_written(address: str):
    moments = random.Random(20250901)
    acknowledged: set[str] = set()
    records = open_records(address)
    club, _ = found_club(records, "Anna")
    with records.transaction() as tx:
        tx.clubs.add_group(club.id, "Young ones")
    records.close()
    for kill in range(KILLS):
        acknowledged |= set(
            write_until_killed(
                "records",
                address,
                first=kill * 10_000,
                after_s=moments.uniform(0.0, 0.25),
                # However busy the machine is, enough is acknowledged to tell something.
                words=moments.randrange(1, 6),
            )
        )
        records = open_records(address)
        try:
            there = acknowledged_and_whole(records, acknowledged)
        finally:
            records.close()
    # A kill may come between writing and saying so; once a kill at most.
    assert len(acknowledged) <= there <= len(acknowledged) + KILLS
    assert len(acknowledged) > 2 * KILLS
    if address.startswith("sqlite"):
        with sqlite3.connect(address.removeprefix("sqlite:///")) as file:
            assert file.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
            assert file.execute("PRAGMA foreign_key_check").fetchall() == []
        file.close()


@pytest.mark.slow
def test_a_kill_during_the_upgrade_leaves_records_that_open(empty_address: str):
    # From early to late: once an upgrade has come to its end, the next has nothing to do.
    moments = (0.01, 0.03, 0.06, 0.1, 0.15, 0.2)
    said = [
        write_until_killed("upgrade", empty_address, first=0, after_s=moment) for moment in moments
    ]
    assert "done" not in said[0], "no kill came early enough"
    records = open_records(empty_address)
    try:
        _, (anna,) = found_club(records, "Anna")
        with records.transaction() as tx:
            file_photo(tx, anna, "a.jpg")
    finally:
        records.close()


@pytest.mark.parametrize("address", ["sqlite"], indirect=True)
def test_a_full_disk_is_told_and_loses_nothing(records: SqlRecords):
    _, (anna,) = found_club(records, "Anna")
    pages: list[int] = []

    @event.listens_for(records._engine, "begin")
    def fill_the_disk(connection):
        if pages:
            connection.exec_driver_sql(f"PRAGMA max_page_count = {pages[0]}")

    with records.reading() as tx:
        pages.append(
            tx.gymnasts._session.connection.exec_driver_sql("PRAGMA page_count").scalar_one() + 2
        )

    def write_much() -> None:
        with records.transaction() as tx:
            photo = file_photo(tx, anna, "a.jpg")
            much = measured(padding="x" * 100_000)
            tx.photos.save_measurement(
                photo.id, much, revision=1, marks_version=None, catalogue="c1"
            )

    with pytest.raises(RecordsError, match="full"):
        write_much()
    pages[0] = 100_000
    with records.transaction() as tx:
        assert tx.gymnasts.view(anna.id).screens == ()
        assert tx.screens.on(anna.id, MONDAY).revision == 0
