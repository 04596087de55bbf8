"""What the club's records promise, in SQLite and in PostgreSQL."""

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest

from chordline.adapters.db.records import SqlRecords, open_records
from chordline.application.club.records import (
    BodySize,
    Consent,
    NewGymnast,
    StaleGymnastError,
    StaleMarksError,
)
from chordline.application.club.views import GymnastQuery
from chordline.errors import NotThereError, RecordsError, TakenError
from club_stories import (
    MONDAY,
    TUESDAY,
    file_photo,
    found_club,
    marks_at,
    measured,
    new_photo,
)

Reopen = Callable[[], SqlRecords]


def test_a_gymnast_is_there_tomorrow_as_she_was_entered(records: SqlRecords, open_again: Reopen):
    consent = Consent(measure=True, keep_pictures=True, until=date(2026, 6, 30))
    with records.transaction() as tx:
        club = tx.clubs.add("Turnverein")
        new = NewGymnast("  Zoë   Ångström ", card=13, birth_date=date(2014, 2, 28))
        new = replace(new, consent=consent, growth_reference="girls")
        zoe = tx.gymnasts.add(club.id, new)
    with open_again().reading() as tx:
        assert tx.gymnasts.get(zoe.id) == zoe
    assert (zoe.name, zoe.card, zoe.birth_date) == ("Zoë Ångström", 13, date(2014, 2, 28))
    assert zoe.growth_reference == "girls"
    assert zoe.consent == consent
    assert zoe.consent.holds_on(date(2026, 6, 30))
    assert not zoe.consent.holds_on(date(2026, 7, 1))


def test_the_growth_reference_is_not_said_until_somebody_says_it_and_can_be_taken_back(
    records: SqlRecords,
):
    _, (anna,) = found_club(records, "Anna")
    assert anna.growth_reference is None
    for reference in ("boys", "girls", None):
        with records.transaction() as tx:
            anna = tx.gymnasts.update(replace(anna, growth_reference=reference))
        assert anna.growth_reference == reference


def test_after_a_mistake_nothing_of_the_form_is_kept(records: SqlRecords):
    def found_and_stumble():
        with records.transaction() as tx:
            tx.clubs.add("Turnverein")
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        found_and_stumble()
    with records.reading() as tx:
        assert tx.clubs.all() == ()


def test_one_who_only_reads_cannot_write(records: SqlRecords):
    with pytest.raises(RecordsError), records.reading() as tx:
        tx.clubs.add("Turnverein")
    with records.transaction() as tx:
        tx.clubs.add("Turnverein")


def test_a_form_sent_twice_counts_once(records: SqlRecords):
    for expected in (True, False):
        with records.transaction() as tx:
            assert tx.first_time("3f0c") is expected


def test_a_card_belongs_to_one_gymnast_and_is_free_once_she_is_put_away(records: SqlRecords):
    club, (anna, bea) = found_club(records, "Anna", "Bea")
    with pytest.raises(TakenError, match="Anna"), records.transaction() as tx:
        tx.gymnasts.update(replace(bea, card=anna.card))
    with records.transaction() as tx:
        away = tx.gymnasts.archive(anna.id)
        tx.gymnasts.update(replace(bea, card=anna.card))
    assert away.archived_at is not None
    with pytest.raises(TakenError, match="Bea"), records.transaction() as tx:
        tx.gymnasts.bring_back(anna.id)
    with records.transaction() as tx:
        bea = tx.gymnasts.with_card(club.id, 0)
        assert bea is not None
        assert bea.name == "Bea"
        tx.gymnasts.update(replace(bea, card=1))
        assert tx.gymnasts.bring_back(anna.id).archived_at is None


def test_two_forms_of_one_gymnast_do_not_overwrite_each_other(records: SqlRecords):
    _, (anna,) = found_club(records, "Anna")
    with records.transaction() as tx:
        tx.gymnasts.update(replace(anna, name="Anna M."))
    with pytest.raises(StaleGymnastError) as refused, records.transaction() as tx:
        tx.gymnasts.update(replace(anna, card=77))
    assert refused.value.current.name == "Anna M."
    assert refused.value.current.card == 0


def test_her_sizes_are_kept_by_day_and_a_second_entry_adds_to_the_day(records: SqlRecords):
    _, (anna,) = found_club(records, "Anna")
    with records.transaction() as tx:
        tx.gymnasts.add_size(anna.id, BodySize(TUESDAY, stature_cm=141.0))
        tx.gymnasts.add_size(anna.id, BodySize(MONDAY, stature_cm=140.5, mass_kg=34.0))
        more = BodySize(MONDAY, sitting_height_cm=73.0, mass_kg=33.5)
        assert tx.gymnasts.add_size(anna.id, more) == BodySize(MONDAY, 140.5, 33.5, 73.0)
        view = tx.gymnasts.view(anna.id)
    assert view.sizes == (BodySize(MONDAY, 140.5, 33.5, 73.0), BodySize(TUESDAY, 141.0))


def test_a_note_of_pain_stays_open_until_it_is_closed(records: SqlRecords):
    _, (anna,) = found_club(records, "Anna")
    with records.transaction() as tx:
        note = tx.gymnasts.add_note(
            anna.id, noted_on=MONDAY, kind="flag", flag="wrist_pain", text="left", author="Kim"
        )
        assert tx.gymnasts.view(anna.id).notes == (note,)
        assert note.closed_on is None
        closed = tx.gymnasts.close_note(note.id, TUESDAY)
        assert closed.closed_on == TUESDAY


def test_groups_show_who_trains_in_them(records: SqlRecords):
    club, (anna, bea, cleo) = found_club(records, "Anna", "Bea", "Cleo")
    with records.transaction() as tx:
        young = tx.clubs.add_group(club.id, "Young ones")
        tx.clubs.put_in_group(young.id, [anna.id, bea.id])
        tx.clubs.put_in_group(young.id, [bea.id, cleo.id])
        tx.clubs.take_out_of_group(young.id, [anna.id])
        tx.gymnasts.archive(cleo.id)
        assert [(one.name, one.size) for one in tx.clubs.groups(club.id)] == [("Young ones", 1)]
        assert tx.gymnasts.view(bea.id).groups == tx.clubs.groups(club.id)
        rows = tx.gymnasts.page(GymnastQuery(club.id, group_id=young.id)).rows
        assert [row.gymnast.name for row in rows] == ["Bea"]
        assert tx.clubs.rename_group(young.id, "Level 3").name == "Level 3"
    with pytest.raises(TakenError), records.transaction() as tx:
        tx.clubs.add_group(club.id, "LEVEL 3")


def test_the_same_photo_twice_is_told_and_stored_once(records: SqlRecords):
    club, (anna, _bea) = found_club(records, "Anna", "Bea")
    with records.transaction() as tx:
        first = file_photo(tx, anna, "a.jpg")
        again = tx.photos.file(club.id, replace(new_photo("a.jpg"), name="copy of a.jpg"))
        other_club = tx.clubs.add("Other")
        elsewhere = tx.photos.file(other_club.id, new_photo("a.jpg"))
        photos = tx.gymnasts.view(anna.id).screens[0].photos
    assert again.already_there
    assert again.photo == first
    assert not elsewhere.already_there
    assert [one.photo for one in photos] == [first]


def test_a_photo_moves_to_another_gymnast_and_test_and_is_measured_anew(records: SqlRecords):
    _, (anna, bea) = found_club(records, "Anna", "Bea")
    with records.transaction() as tx:
        photo = file_photo(tx, anna, "a.jpg")
        tx.photos.save_measurement(
            photo.id, measured(), revision=1, marks_version=None, catalogue="c1"
        )
        screen = tx.screens.on(bea.id, TUESDAY)
        moved = tx.photos.move(photo.id, screen_id=screen.id, test="prone-out")
        assert (moved.screen_id, moved.test, moved.state) == (screen.id, "prone-out", "waiting")
        assert tx.photos.view(photo.id).measurement is None
        assert len(tx.photos.measurements(photo.id)) == 1
        assert tx.photos.move(photo.id, screen_id=screen.id, test="prone-out") == moved
        assert tx.gymnasts.view(anna.id).screens[0].photos == ()


def test_a_photo_cannot_be_filed_under_another_clubs_gymnast(records: SqlRecords):
    _, (anna,) = found_club(records, "Anna")
    with records.transaction() as tx:
        photo = file_photo(tx, anna, "a.jpg")
        stranger = tx.gymnasts.add(tx.clubs.add("Other").id, NewGymnast("Zita"))
        screen = tx.screens.on(stranger.id, MONDAY)
    with pytest.raises(NotThereError), records.transaction() as tx:
        tx.photos.move(photo.id, screen_id=screen.id, test=None)


def test_the_second_coach_is_told_and_neither_coachs_marks_are_lost(records: SqlRecords):
    _, (anna,) = found_club(records, "Anna")
    with records.transaction() as tx:
        photo = file_photo(tx, anna, "a.jpg")
        first = tx.photos.save_marks(photo.id, marks_at(500), base_version=0, author="Kim")

    def lou_comes_too_late():
        with records.transaction() as tx:
            tx.clubs.add("must not be kept")
            tx.photos.save_marks(photo.id, marks_at(520), base_version=0, author="Lou")

    with pytest.raises(StaleMarksError) as refused:
        lou_comes_too_late()
    assert refused.value.current == first
    with records.reading() as tx:
        history = tx.photos.marks_history(photo.id)
        assert [(one.author, one.marks, one.set_aside) for one in history] == [
            ("Kim", marks_at(500), False),
            ("Lou", marks_at(520), True),
        ]
        assert tx.photos.view(photo.id).marks == first
        assert [club.name for club in tx.clubs.all()] == ["Turnverein"]
    with records.transaction() as tx:
        tx.photos.save_marks(photo.id, marks_at(520), base_version=1, author="Lou")
        standing = tx.photos.view(photo.id).marks
    assert standing is not None
    assert (standing.version, standing.author) == (3, "Lou")


def test_refused_marks_are_kept_also_where_the_refusal_was_caught(records: SqlRecords):
    _, (anna,) = found_club(records, "Anna")
    with records.transaction() as tx:
        photo = file_photo(tx, anna, "a.jpg")
        tx.photos.save_marks(photo.id, marks_at(500), base_version=0, author="Kim")
        with pytest.raises(StaleMarksError):
            tx.photos.save_marks(photo.id, marks_at(520), base_version=0, author="Lou")
    with records.reading() as tx:
        assert [one.author for one in tx.photos.marks_history(photo.id)] == ["Kim", "Lou"]


def test_the_same_marks_sent_twice_by_one_hand_are_no_conflict(records: SqlRecords):
    _, (anna,) = found_club(records, "Anna")
    with records.transaction() as tx:
        photo = file_photo(tx, anna, "a.jpg")
        once = tx.photos.save_marks(photo.id, marks_at(500), base_version=0, author="Kim")
        assert once == tx.photos.save_marks(photo.id, marks_at(500), base_version=0, author="Kim")
        assert tx.photos.marks_history(photo.id) == (once,)


def test_a_measurement_keeps_its_measures_in_order(records: SqlRecords):
    _, (anna,) = found_club(records, "Anna")
    with records.transaction() as tx:
        photo = file_photo(tx, anna, "a.jpg")
        tx.photos.save_measurement(
            photo.id, measured(), revision=1, marks_version=None, catalogue="c1"
        )
    with records.reading() as tx:
        view = tx.photos.view(photo.id)
    assert view.photo.state == "measured"
    assert view.measurement is not None
    assert view.measurement.record == measured()
    assert list(view.measurement.record["measures"]) == list(measured()["measures"])
    assert (view.measurement.model, view.measurement.catalogue) == ("hand marks", "c1")


def test_a_measurement_that_comes_after_new_marks_does_not_count(records: SqlRecords):
    _, (anna,) = found_club(records, "Anna")
    with records.transaction() as tx:
        photo = file_photo(tx, anna, "a.jpg")
        marks = tx.photos.save_marks(photo.id, marks_at(500), base_version=0, author="Kim")
        tx.photos.save_measurement(
            photo.id, measured(), revision=photo.revision, marks_version=None, catalogue="c1"
        )
        late = tx.photos.view(photo.id)
        assert (late.photo.state, late.measurement) == ("waiting", None)
        now = tx.photos.save_measurement(
            photo.id,
            measured(),
            revision=late.photo.revision,
            marks_version=marks.version,
            catalogue="c1",
        )
        assert tx.photos.view(photo.id).measurement == now
        assert len(tx.photos.measurements(photo.id)) == 2


def test_the_squad_table_shows_the_latest_findings_and_whether_they_still_hold(records: SqlRecords):
    club, (anna, _bea) = found_club(records, "Anna", "Bea")
    with records.transaction() as tx:
        for day in (TUESDAY, MONDAY):
            screen = tx.screens.on(anna.id, day)
            for take in (1, 2):
                record = {"screen": day.isoformat(), "take": take}
                tx.screens.save_findings(screen, record, catalogue="c1", models=["heavy", "full"])
        rows = tx.gymnasts.squad(GymnastQuery(club.id)).rows
        assert [row.last_screened_on for row in rows] == [TUESDAY, None]
        assert rows[1].findings is None
        latest = rows[0].findings
        assert latest is not None
        assert latest.record == {"screen": "2025-09-02", "take": 2}
        assert (latest.models, latest.up_to_date) == (("heavy", "full"), True)
        tuesday = tx.screens.on(anna.id, TUESDAY)
        tx.screens.add_hold(
            tuesday.id, test="hold-front", seconds=31.5, reached_cap=False, author="Kim"
        )
        latest = tx.gymnasts.squad(GymnastQuery(club.id)).rows[0].findings
        assert latest is not None
        assert not latest.up_to_date
        assert [hold.seconds for hold in tx.screens.view(tuesday.id).holds] == [31.5]


def test_the_findings_of_a_screen_that_changed_meanwhile_do_not_count_as_new(records: SqlRecords):
    _, (anna,) = found_club(records, "Anna")
    with records.transaction() as tx:
        before = tx.screens.on(anna.id, MONDAY)
        file_photo(tx, anna, "a.jpg")
        assert not tx.screens.save_findings(before, {}, catalogue="c1", models=[]).up_to_date
        after = tx.screens.get(before.id)
        assert tx.screens.save_findings(after, {}, catalogue="c1", models=[]).up_to_date


def test_an_erased_gymnast_leaves_nothing_and_names_the_pictures_to_delete(records: SqlRecords):
    club, (anna, bea) = found_club(records, "Anna", "Bea")
    with records.transaction() as tx:
        photo = file_photo(tx, anna, "a.jpg")
        tx.photos.save_marks(photo.id, marks_at(500), base_version=0, author="Kim")
        file_photo(tx, bea, "b.jpg")
        assert tx.gymnasts.erase(anna.id) == (photo.content_key,)
    with records.transaction() as tx:
        with pytest.raises(NotThereError):
            tx.photos.get(photo.id)
        assert tx.photos.marks_history(photo.id) == ()
        new = tx.gymnasts.add(club.id, NewGymnast("Cleo"))
        assert new.id > max(anna.id, bea.id)


def test_without_consent_to_keep_it_the_picture_goes_and_the_marks_stay(records: SqlRecords):
    _, (anna,) = found_club(records, "Anna")
    with records.transaction() as tx:
        photo = file_photo(tx, anna, "a.jpg")
        marks = tx.photos.save_marks(photo.id, marks_at(500), base_version=0, author="Kim")
        assert tx.photos.forget_picture(photo.id) == photo.content_key
        left = tx.photos.view(photo.id)
        assert (left.photo.content_key, left.marks) == (None, marks)
        assert tx.photos.remove(photo.id) is None


def test_pictures_that_no_photo_needs_are_found(records: SqlRecords):
    club, (anna,) = found_club(records, "Anna")
    with records.transaction() as tx:
        photo = file_photo(tx, anna, "a.jpg")
        assert photo.content_key is not None
        strays = [f"plain-{i:064x}" for i in range(2500)]
        assert tx.photos.not_needed([photo.content_key, *strays]) == tuple(strays)
        assert tx.photos.with_sha256(club.id, photo.sha256.upper()) == photo
        assert tx.photos.with_sha256(club.id, "0" * 64) is None


def test_marks_of_a_photo_that_was_removed_meanwhile_are_told_and_need_no_place(
    records: SqlRecords,
):
    _, (anna,) = found_club(records, "Anna")
    with records.transaction() as tx:
        photo = file_photo(tx, anna, "a.jpg")
        tx.photos.save_marks(photo.id, marks_at(500), base_version=0, author="Kim")

    def mark_and_remove():
        with records.transaction() as tx:
            with pytest.raises(StaleMarksError):
                tx.photos.save_marks(photo.id, marks_at(520), base_version=0, author="Lou")
            tx.photos.remove(photo.id)

    mark_and_remove()
    with pytest.raises(NotThereError), records.reading() as tx:
        tx.photos.get(photo.id)


def test_moments_are_kept_in_utc(address: str):
    noon_in_tokyo = datetime.fromisoformat("2025-09-01T12:00:00.123456+09:00")
    records = open_records(address, clock=lambda: noon_in_tokyo)
    try:
        _, (anna,) = found_club(records, "Anna")
        with records.transaction() as tx:
            photo = file_photo(tx, anna, "a.jpg")
        assert photo.received_at == noon_in_tokyo
        assert photo.received_at.tzinfo is UTC
        assert photo.received_at - datetime(2025, 9, 1, 3, tzinfo=UTC) < timedelta(seconds=1)
    finally:
        records.close()
