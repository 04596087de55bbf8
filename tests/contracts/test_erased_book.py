"""Who was erased, and which rows are hers."""

from datetime import UTC, date, datetime, timedelta

import pytest
from sqlalchemy import func, select

from chordline.adapters.db.erased import NOT_GIVEN, rows_that_are_hers
from chordline.adapters.db.records import SqlRecords
from chordline.adapters.db.schema import GYMNAST, METADATA
from chordline.application.club.erased import Erased
from chordline.application.club.records import BodySize
from chordline.errors import NotThereError
from club_stories import file_photo, found_club, marks_at, measured

#: Tables that tell of nobody who trains. A table that is added has to be hers, or to stand here.
NOT_HERS = {
    "account",
    "club",
    "club_noise",
    "erased",
    "group_training",
    "gym_group",
    "login",
    "login_tries",
    "pairing",
    "sent_form",
    "station",
    "study",
    "training_plan",
    "training_session",
}


def test_every_table_is_hers_or_nobodys() -> None:
    hers = {table.name for table in rows_that_are_hers(1)}
    assert hers | NOT_HERS == set(METADATA.tables)
    assert not hers & NOT_HERS
    assert hers >= NOT_GIVEN


def test_every_row_of_hers_is_given_and_nobody_elses(records: SqlRecords) -> None:
    club, (ada, bea) = found_club(records, "Ada", "Bea")
    with records.transaction() as tx:
        group = tx.clubs.add_group(club.id, "Juniors")
        for girl in (ada, bea):
            tx.clubs.put_in_group(group.id, [girl.id])
            tx.gymnasts.add_size(girl.id, BodySize(date(2025, 9, 1), stature_cm=131.0))
            tx.gymnasts.add_note(
                girl.id, noted_on=date(2025, 9, 1), kind="remark", text="=cmd()", author="Cleo"
            )
            photo = file_photo(tx, girl, f"{girl.id}.jpg")
            tx.photos.save_marks(photo.id, marks_at(500), base_version=0, author="Cleo")
            now = tx.photos.get(photo.id)
            tx.photos.save_measurement(
                photo.id, measured(), revision=now.revision, marks_version=1, catalogue="1"
            )
            tx.jobs.add(club.id, "measure", photo_id=photo.id)
            screen = tx.screens.get(photo.screen_id or 0)
            tx.screens.add_hold(
                screen.id, test="hold-front", seconds=20.0, reached_cap=False, author="Cleo"
            )
            tx.training.say_skill(girl.id, "tripod", reached_on=date(2025, 9, 1), author="Cleo")
            tx.training.say_level(girl.id, 2)
        of_ada, of_bea = tx.erased.rows_of(ada.id), tx.erased.rows_of(bea.id)
        filled = ("gymnast", "group_member", "body_size", "note", "screen", "photo", "marks")
        for name in (*filled, "measurement", "job", "hold", "skill", "training_level"):
            assert len(of_ada[name]) == 1, name
            whole = select(func.count()).select_from(METADATA.tables[name])
            assert len(of_ada[name]) + len(of_bea[name]) == tx._session.number(whole), name
        assert of_ada["measurement"][0]["record"]["measures"]
        with pytest.raises(NotThereError):
            tx.erased.rows_of(999)


def test_who_was_erased_and_is_there_again_is_found_and_nobody_who_came_later(
    records: SqlRecords,
) -> None:
    _, (ada, bea) = found_club(records, "Ada", "Bea")
    with records.transaction() as tx:
        assert tx.erased.all() == ()
        noted = tx.erased.note(ada.id, by="Cleo")
        assert tx.erased.still_there() == (ada.id,)
        # Before Bea came, somebody else had her number.
        born = tx._session.rows(select(GYMNAST.c.created_at).where(GYMNAST.c.id == bea.id))
        long_ago = Erased(bea.id, born[0].created_at - timedelta(days=1), "this machine")
        tx.erased.learn([long_ago, Erased(ada.id, datetime(2020, 1, 1, tzinfo=UTC), "x")])
        assert set(tx.erased.all()) == {noted, long_ago}
        assert tx.erased.still_there() == (ada.id,)
