"""What waits for the coach, and small questions that pages ask, in SQLite and in PostgreSQL."""

import pytest

from chordline.adapters.db.records import SqlRecords
from chordline.application.club.records import REFUSED_WORRY, BodySize, NewGymnast
from chordline.application.club.views import QueuePlace
from chordline.errors import NotThereError, TakenError
from club_stories import MONDAY, TUESDAY, file_photo, found_club, measured, new_photo


def test_the_queue_starts_with_the_worst_and_a_checked_photo_leaves_it(records: SqlRecords):
    club, (anna, gone) = found_club(records, "Anna", "Gone")
    doubts = {"good": (), "one": ("a",), "three": ("a", "b", "c"), "two": ("a", "b")}
    with records.transaction() as tx:
        for name, reasons in doubts.items():
            photo = file_photo(tx, anna, name)
            tx.photos.save_measurement(
                photo.id, measured(*reasons), revision=1, marks_version=None, catalogue="c1"
            )
        nobodys = tx.photos.file(club.id, new_photo("nobody's")).photo
        tx.photos.settle(
            nobodys.id, revision=1, state="refused", reason="too dark", worry=REFUSED_WORRY
        )
        hidden = file_photo(tx, gone, "hidden")
        tx.photos.settle(hidden.id, revision=1, state="needs_look", reason="?", worry=1.0)
        tx.gymnasts.archive(gone.id)
        first = tx.photos.queue(club.id, limit=2)
        second = tx.photos.queue(club.id, after=first.next, limit=2)
        assert [row.photo.name for row in first.rows] == ["nobody's", "three"]
        assert [row.gymnast for row in first.rows] == [None, "Anna"]
        assert [row.photo.name for row in second.rows] == ["two", "one"]
        assert (first.total, second.next) == (4, None)
        assert [row.photo.name for row in tx.photos.unfiled(club.id).rows] == ["nobody's"]
        counts = tx.photos.counts(club.id)
        assert (counts.waiting, counts.needs_look, counts.refused, counts.unfiled) == (0, 3, 1, 1)
        three = first.rows[1].photo
        assert tx.photos.settle(
            three.id, revision=three.revision, state="measured", checked_by="Kim"
        )
        assert tx.photos.queue(club.id).total == 3
        changed = tx.photos.say(three.id, near_side="left", front=None, person=None)
        assert (changed.state, changed.checked_by) == ("waiting", None)
        assert not tx.photos.settle(three.id, revision=three.revision, state="measured")


def test_a_photo_knows_its_neighbours_in_the_queue(records: SqlRecords):
    club, (anna, gone) = found_club(records, "Anna", "Gone")
    worries = {"a": 1.0, "b": 3.0, "c": 1.0, "d": 2.0, "hidden": 2.0}
    ids = {}
    with records.transaction() as tx:
        for name, worry in worries.items():
            photo = file_photo(tx, gone if name == "hidden" else anna, name)
            tx.photos.settle(photo.id, revision=1, state="needs_look", reason="?", worry=worry)
            ids[name] = photo.id
        good = file_photo(tx, anna, "good")
        tx.gymnasts.archive(gone.id)
        order = [row.photo.id for row in tx.photos.queue(club.id).rows]
        assert order == [ids[name] for name in ("b", "d", "a", "c")]
        for at, photo_id in enumerate(order):
            assert tx.photos.place(photo_id) == QueuePlace(
                previous=order[at - 1] if at else None,
                next=order[at + 1] if at + 1 < len(order) else None,
                position=at + 1,
                total=4,
            )
        for outside in (good.id, ids["hidden"]):
            assert tx.photos.place(outside) == QueuePlace(None, order[0], None, 4)
        with pytest.raises(NotThereError):
            tx.photos.place(2**70)


def test_everybody_without_a_card_gets_the_first_free_one_by_name(records: SqlRecords):
    club, (_, bea) = found_club(records, "Ada", "Bea")
    with records.transaction() as tx:
        for name in ("Zoe", "Cleo", "Dina"):
            tx.gymnasts.add(club.id, NewGymnast(name))
        tx.gymnasts.archive(bea.id)
        assert tx.gymnasts.cards(club.id) == {0}
        assert tx.gymnasts.give_cards(club.id, [0, 1, 5]) == 2
        assert tx.gymnasts.cards(club.id) == {0, 1, 5}
        (cleo,) = tx.gymnasts.named(club.id, "Cleo")
        assert (cleo.card, cleo.version) == (1, 2)


def test_a_club_gets_another_name_that_nobody_has(records: SqlRecords):
    club, _ = found_club(records)
    with records.transaction() as tx:
        tx.clubs.add("Sportverein")
        assert tx.clubs.rename(club.id, " Gym 3 ").name == "Gym 3"
        assert tx.clubs.rename(club.id, "Gym 3").name == "Gym 3"
        with pytest.raises(TakenError):
            tx.clubs.rename(club.id, "Sportverein")


def test_photos_of_some_tests_in_some_screens(records: SqlRecords):
    _, (anna, bea) = found_club(records, "Anna", "Bea")
    with records.transaction() as tx:
        hers = file_photo(tx, anna, "1", "handstand")
        file_photo(tx, anna, "2", "prone-out")
        other = file_photo(tx, bea, "3", "handstand")
        record = measured()
        tx.photos.save_measurement(hers.id, record, revision=1, marks_version=None, catalogue="c1")
        screens = [hers.screen_id or 0, other.screen_id or 0]
        found = tx.photos.of_screens(screens, ["handstand"])
        assert [one.photo.id for one in found] == [hers.id, other.id]
        assert found[0].measurement is not None
        assert found[0].measurement.record == record
        assert tx.photos.of_screens([], ["handstand"]) == ()


def test_sizes_and_notes_come_in_the_order_of_their_days(records: SqlRecords):
    _, (anna,) = found_club(records, "Anna")
    with records.transaction() as tx:
        for day, cm in ((TUESDAY, 131.0), (MONDAY, 130.0)):
            tx.gymnasts.add_size(anna.id, BodySize(day, stature_cm=cm))
            tx.gymnasts.add_note(anna.id, noted_on=day, kind="remark", text=str(day), author="Kim")
        assert [one.stature_cm for one in tx.gymnasts.sizes(anna.id)] == [130.0, 131.0]
        assert [one.noted_on for one in tx.gymnasts.notes(anna.id)] == [MONDAY, TUESDAY]


def test_the_day_of_a_photo_is_kept_before_anybody_owns_it(records: SqlRecords):
    club, _ = found_club(records)
    with records.transaction() as tx:
        filed = tx.photos.file(club.id, new_photo("x", taken_on=MONDAY))
        assert tx.photos.get(filed.photo.id).taken_on == MONDAY
