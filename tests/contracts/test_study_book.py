"""What the records of studies promise, in SQLite and in PostgreSQL."""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier

import pytest

from chordline.adapters.db.records import SqlRecords
from chordline.application.club.ports import Tx
from chordline.application.club.records import GymnastRecord, PhotoRecord
from chordline.application.repeatability.records import NewTask, Reading, Study
from chordline.errors import ImpossibleRecordError, NotThereError
from club_stories import file_photo, found_club, measured

Reopen = Callable[[], SqlRecords]

READINGS = {"hip_opening_deg": Reading(-3.25, 1.5, 0.75, "deg")}
MARKS = {"landmarks": {"hip": {"x_px": 10.5, "y_px": 20.25}}, "near_side": "left"}


def measured_photo(tx: Tx, girl: GymnastRecord, name: str, test: str = "prone-out") -> PhotoRecord:
    photo = file_photo(tx, girl, name, test)
    tx.photos.save_measurement(photo.id, measured(), revision=1, marks_version=None, catalogue="c1")
    return tx.photos.get(photo.id)


def begun(records: SqlRecords) -> tuple[Study, list[GymnastRecord], list[PhotoRecord]]:
    """A study of two photos, one of Anna and one of Bea."""
    club, girls = found_club(records, "Anna", "Bea")
    with records.transaction() as tx:
        photos = [measured_photo(tx, girl, f"{girl.name}.jpg") for girl in girls]
        ids = [photos[1].id, photos[0].id]
        study = tx.studies.add(club.id, photos=ids, seed=7, twice=True, author="Kim")
    return study, girls, photos


def dealt(study: Study) -> list[NewTask]:
    return [NewTask(photo, turn) for turn in (1, 2) for photo in study.photos]


def test_a_study_is_there_tomorrow_with_its_photos_in_order(
    records: SqlRecords, open_again: Reopen
):
    study, _, photos = begun(records)
    assert study.photos == (photos[1].id, photos[0].id)
    assert (study.seed, study.twice, study.author) == (7, True, "Kim")
    with open_again().reading() as tx:
        assert tx.studies.get(study.id) == study
        assert tx.studies.all(study.club_id) == (study,)
        with pytest.raises(NotThereError, match="study 99"):
            tx.studies.get(99)


def test_a_coach_goes_on_where_she_stopped(records: SqlRecords, open_again: Reopen):
    study, _, _ = begun(records)
    with records.transaction() as tx:
        tasks = tx.studies.join(study.id, "Kim", dealt(study))
        assert [(one.place, one.turn, one.photo_id) for one in tasks] == [
            (1, 1, study.photos[0]),
            (2, 1, study.photos[1]),
            (3, 2, study.photos[0]),
            (4, 2, study.photos[1]),
        ]
        assert tx.studies.next_task(study.id, "Kim") == tasks[0]
        kept = tx.studies.keep(tasks[0].id, marks=MARKS, readings=READINGS)
    assert kept.done_at is not None
    assert (kept.marks, kept.readings) == (MARKS, READINGS)
    with open_again().transaction() as tx:
        assert tx.studies.next_task(study.id, "Kim") == tasks[1]
        # Asked again, on another device, the order stays the same.
        again = tx.studies.join(study.id, "Kim", dealt(study)[::-1])
        assert [one.id for one in again] == [one.id for one in tasks]
        assert again[0] == kept
        assert tx.studies.next_task(study.id, "Lea") is None


def test_two_devices_of_one_coach_get_one_order(records: SqlRecords):
    study, _, _ = begun(records)
    start = Barrier(4)

    def join(number: int) -> tuple[int, ...]:
        start.wait()
        with records.transaction() as tx:
            order = dealt(study)[number:] + dealt(study)[:number]
            return tuple(one.id for one in tx.studies.join(study.id, "Kim", order))

    with ThreadPoolExecutor(4) as pool:
        assert len(set(pool.map(join, range(4)))) == 1


def test_what_was_marked_first_stands(records: SqlRecords):
    study, _, _ = begun(records)
    with records.transaction() as tx:
        (task, *_) = tx.studies.join(study.id, "Kim", dealt(study))
        first = tx.studies.keep(task.id, marks=MARKS, readings=READINGS)
        other = {"hip_opening_deg": Reading(9.0, 1.0, 0.5, "deg")}
        assert tx.studies.keep(task.id, marks={}, readings=other) == first


def test_marks_of_a_study_leave_the_photo_as_it_was(records: SqlRecords):
    study, _, photos = begun(records)
    with records.transaction() as tx:
        before = [tx.photos.view(one.id) for one in photos]
        for task in tx.studies.join(study.id, "Kim", dealt(study)):
            tx.studies.keep(task.id, marks=MARKS, readings=READINGS)
    with records.reading() as tx:
        assert [tx.photos.view(one.id) for one in photos] == before


def test_an_erased_gymnast_leaves_no_photo_and_no_mark_in_a_study(records: SqlRecords):
    study, (anna, _), (hers, other) = begun(records)
    with records.transaction() as tx:
        for task in tx.studies.join(study.id, "Kim", dealt(study)):
            tx.studies.keep(task.id, marks=MARKS, readings=READINGS)
        tx.gymnasts.erase(anna.id)
    with records.reading() as tx:
        assert tx.studies.get(study.id).photos == (other.id,)
        assert {one.photo_id for one in tx.studies.tasks(study.id)} == {other.id}
        assert hers.id != other.id


def test_a_photo_whose_picture_is_not_kept_is_passed_over(records: SqlRecords):
    study, _, _ = begun(records)
    with records.transaction() as tx:
        tasks = tx.studies.join(study.id, "Kim", dealt(study))
        tx.photos.forget_picture(study.photos[0])
        assert tx.studies.next_task(study.id, "Kim") == tasks[1]


def test_a_study_goes_with_everything_marked_in_it(records: SqlRecords):
    study, _, _ = begun(records)
    with records.transaction() as tx:
        (task, *_) = tx.studies.join(study.id, "Kim", dealt(study))
        tx.studies.remove(study.id)
        assert tx.studies.all(study.club_id) == ()
        with pytest.raises(NotThereError, match="photo of this study"):
            tx.studies.task(task.id)


def test_a_coach_without_a_name_is_refused(records: SqlRecords):
    study, _, _ = begun(records)
    with (
        pytest.raises(ImpossibleRecordError, match="say who marks"),
        records.transaction() as tx,
    ):
        tx.studies.join(study.id, "", dealt(study))


def test_measured_photos_are_those_that_can_be_shown(records: SqlRecords):
    study, (anna, bea), photos = begun(records)
    with records.transaction() as tx:
        file_photo(tx, anna, "waiting.jpg")
        gone = measured_photo(tx, anna, "gone.jpg")
        tx.photos.forget_picture(gone.id)
        found = tx.studies.measured(study.club_id)
    assert [(view.photo.id, girl) for view, girl in found] == [
        (photos[0].id, anna.id),
        (photos[1].id, bea.id),
    ]
    assert all(view.measurement is not None for view, _ in found)


def test_takes_are_several_measured_photos_of_one_test_in_one_screen(records: SqlRecords):
    study, (anna, bea), (first, _) = begun(records)
    with records.transaction() as tx:
        second = measured_photo(tx, anna, "again.jpg")
        measured_photo(tx, bea, "other.jpg", test="prone-sides")
        file_photo(tx, bea, "waiting.jpg", "prone-out")
        found = tx.studies.taken_twice(study.club_id)
    assert [view.photo.id for view, _ in found] == [first.id, second.id]
    assert {screen for _, screen in found} == {first.screen_id}


def test_one_set_of_errors_is_in_use_until_the_defaults_are(
    records: SqlRecords, open_again: Reopen
):
    club, _ = found_club(records)
    with records.transaction() as tx:
        assert tx.studies.noise(club.id) is None
        tx.studies.use_noise(club.id, {"number": 1}, author="Kim")
        second = tx.studies.use_noise(club.id, {"number": 2}, author="Lea")
    with open_again().transaction() as tx:
        assert tx.studies.noise(club.id) == second
        assert (second.record, second.author, second.in_use) == ({"number": 2}, "Lea", True)
        tx.studies.use_defaults(club.id)
        assert tx.studies.noise(club.id) is None


def test_two_who_decide_at_once_leave_one_decision(records: SqlRecords):
    club, _ = found_club(records)
    start = Barrier(4)

    def use(number: int) -> None:
        start.wait()
        with records.transaction() as tx:
            tx.studies.use_noise(club.id, {"number": number}, author="Kim")

    with ThreadPoolExecutor(4) as pool:
        list(pool.map(use, range(4)))
    with records.reading() as tx:
        used = tx.studies.noise(club.id)
    assert used is not None
    assert used.record["number"] in range(4)
