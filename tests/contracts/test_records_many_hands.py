"""Several devices at once, and work that goes on after a restart."""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from threading import Barrier

import pytest

from chordline.adapters.db.records import SqlRecords, open_records
from chordline.application.club.records import StaleGymnastError, StaleMarksError
from club_stories import MONDAY, file_photo, found_club, marks_at, new_photo

Reopen = Callable[[], SqlRecords]
LEASE = timedelta(minutes=5)


def test_eight_coaches_mark_one_photo_at_once_and_one_stands(records: SqlRecords):
    _, (anna,) = found_club(records, "Anna")
    with records.transaction() as tx:
        photo = file_photo(tx, anna, "a.jpg")
    start = Barrier(8)

    def mark(coach: int) -> str:
        start.wait()
        try:
            with records.transaction() as tx:
                tx.photos.save_marks(
                    photo.id, marks_at(500 + coach), base_version=0, author=f"coach {coach}"
                )
        except StaleMarksError as refused:
            return refused.current.author
        return f"coach {coach}"

    with ThreadPoolExecutor(8) as pool:
        winners = set(pool.map(mark, range(8)))
    with records.reading() as tx:
        history = tx.photos.marks_history(photo.id)
    assert len(winners) == 1
    assert [one.author for one in history if not one.set_aside] == list(winners)
    assert {one.author for one in history} == {f"coach {i}" for i in range(8)}
    assert all(one.marks == marks_at(500 + int(one.author[-1])) for one in history)


def test_two_devices_that_build_on_each_other_lose_no_mark(records: SqlRecords, open_again: Reopen):
    _, (anna,) = found_club(records, "Anna")
    with records.transaction() as tx:
        photo = file_photo(tx, anna, "a.jpg")
    other = open_again()

    def keep_marking(device: SqlRecords, author: str) -> int:
        refusals, base = 0, 0
        for step in range(15):
            while True:
                try:
                    with device.transaction() as tx:
                        base = tx.photos.save_marks(
                            photo.id, marks_at(step), base_version=base, author=author
                        ).version
                    break
                except StaleMarksError as refused:
                    refusals, base = refusals + 1, refused.current.version
        return refusals

    with ThreadPoolExecutor(2) as pool:
        devices = [
            pool.submit(keep_marking, records, "Kim"),
            pool.submit(keep_marking, other, "Lou"),
        ]
        refusals = sum(one.result() for one in devices)
    with records.reading() as tx:
        history = tx.photos.marks_history(photo.id)
        standing = [one for one in history if not one.set_aside]
        assert tx.photos.get(photo.id).marks_version == standing[-1].version
    assert [one.version for one in history] == list(range(1, len(history) + 1))
    assert len(standing) == 30
    assert len(history) == 30 + refusals
    bases = [one.base_version for one in standing]
    assert bases == [0, *(one.version for one in standing[:-1])]


def test_one_photo_sent_by_six_tablets_is_filed_once(records: SqlRecords):
    club, _ = found_club(records, "Anna")
    start = Barrier(6)

    def send(_: int) -> tuple[int, bool]:
        start.wait()
        with records.transaction() as tx:
            filed = tx.photos.file(club.id, new_photo("a.jpg"))
        return filed.photo.id, filed.already_there

    with ThreadPoolExecutor(6) as pool:
        sent = list(pool.map(send, range(6)))
    assert len({photo_id for photo_id, _ in sent}) == 1
    assert sorted(there for _, there in sent) == [False] + [True] * 5


def test_two_tablets_begin_one_screen_together(records: SqlRecords):
    _, (anna,) = found_club(records, "Anna")
    start = Barrier(4)

    def begin(_: int) -> int:
        start.wait()
        with records.transaction() as tx:
            return tx.screens.on(anna.id, MONDAY).id

    with ThreadPoolExecutor(4) as pool:
        assert len(set(pool.map(begin, range(4)))) == 1


def test_who_reads_sees_one_state_and_does_not_wait_for_the_writer(
    records: SqlRecords, open_again: Reopen
):
    club, _ = found_club(records, "Anna")
    with open_again().reading() as reader, records.transaction() as writer:
        assert len(reader.clubs.groups(club.id)) == 0
        writer.clubs.add_group(club.id, "Young ones")
        assert len(reader.clubs.groups(club.id)) == 0


def test_every_waiting_photo_is_taken_by_one_worker(records: SqlRecords):
    club, (anna,) = found_club(records, "Anna")
    with records.transaction() as tx:
        for i in range(12):
            tx.jobs.add(club.id, "measure", photo_id=file_photo(tx, anna, f"{i}.jpg").id)

    def work(worker: str) -> list[int]:
        done = []
        while True:
            with records.transaction() as tx:
                job = tx.jobs.take(worker, lease=LEASE)
            if job is None:
                return done
            done.append(job.id)
            with records.transaction() as tx:
                assert tx.jobs.finish(job.id, worker)

    with ThreadPoolExecutor(3) as pool:
        done = [job for jobs in pool.map(work, "abc") for job in jobs]
    assert len(done) == len(set(done)) == 12
    with records.reading() as tx:
        assert tx.jobs.counts(club.id) == {"waiting": 0, "running": 0, "failed": 0}


def test_a_photo_waits_for_measuring_once_but_again_where_it_changed_meanwhile(
    records: SqlRecords,
):
    club, (anna,) = found_club(records, "Anna")
    with records.transaction() as tx:
        photo = file_photo(tx, anna, "a.jpg")
        first = tx.jobs.add(club.id, "measure", photo_id=photo.id)
        assert tx.jobs.add(club.id, "measure", photo_id=photo.id) == first
        taken = tx.jobs.take("worker", lease=LEASE)
        assert taken is not None
        assert (taken.id, taken.state, taken.attempts) == (first.id, "running", 1)
        assert tx.jobs.add(club.id, "measure", photo_id=photo.id).id != first.id
        assert tx.jobs.take("worker", lease=LEASE, kinds=["judge"]) is None


def test_after_a_restart_interrupted_work_waits_again(records: SqlRecords):
    club, (anna,) = found_club(records, "Anna")
    with records.transaction() as tx:
        twice = file_photo(tx, anna, "a.jpg")
        tx.jobs.add(club.id, "measure", photo_id=twice.id)
        tx.jobs.add(club.id, "import", payload={"folder": 3})
        tx.jobs.take("killed", lease=LEASE)
        tx.jobs.take("killed", lease=LEASE)
        tx.jobs.add(club.id, "measure", photo_id=twice.id)
    with records.transaction() as tx:
        assert tx.jobs.give_back() == 1
        assert tx.jobs.counts(club.id)["waiting"] == 2
        again = tx.jobs.take("new", lease=LEASE)
    assert again is not None
    assert (again.kind, again.payload, again.attempts) == ("import", {"folder": 3}, 2)


def test_a_photo_that_ends_the_program_three_times_is_given_up_with_a_reason(address: str):
    now = [datetime(2025, 9, 1, 8, tzinfo=UTC)]
    records = open_records(address, clock=lambda: now[0])
    try:
        club, _ = found_club(records)
        with records.transaction() as tx:
            tx.jobs.add(club.id, "import")
        for attempt in (1, 2, 3):
            with records.transaction() as tx:
                job = tx.jobs.take("worker", lease=LEASE)
                assert job is not None
                assert job.attempts == attempt
                assert tx.jobs.take("other", lease=LEASE) is None
            now[0] += LEASE + timedelta(seconds=1)
        with records.transaction() as tx:
            assert tx.jobs.take("worker", lease=LEASE) is None
            (failed,) = tx.jobs.failed(club.id)
            assert failed.error is not None
            assert "3 times" in failed.error
            assert not tx.jobs.finish(failed.id, "worker")
    finally:
        records.close()


def test_a_job_that_fails_says_why(records: SqlRecords):
    club, _ = found_club(records)
    with records.transaction() as tx:
        job = tx.jobs.add(club.id, "import")
        tx.jobs.take("worker", lease=LEASE)
        assert not tx.jobs.finish(job.id, "somebody else")
        assert tx.jobs.finish(job.id, "worker", error="the file is empty")
        assert [one.error for one in tx.jobs.failed(club.id)] == ["the file is empty"]


@pytest.mark.parametrize("field", ["name", "card"])
def test_two_forms_of_a_gymnast_sent_at_once(records: SqlRecords, field: str):
    _, (anna,) = found_club(records, "Anna")
    start = Barrier(4)

    def send(number: int) -> bool:
        value = f"Anna {number}" if field == "name" else 100 + number
        start.wait()
        try:
            with records.transaction() as tx:
                tx.gymnasts.update(replace(anna, **{field: value}))
        except StaleGymnastError:
            return False
        return True

    with ThreadPoolExecutor(4) as pool:
        assert sum(pool.map(send, range(4))) == 1
