"""Accounts and the trail mean the same in SQLite and in PostgreSQL."""

from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, date, datetime, timedelta

import pytest

from chordline.adapters.db.records import SqlRecords
from chordline.application.accounts.acting import ACTING, Act
from chordline.application.accounts.records import NewTrail, TrailQuery, Tries
from chordline.application.club.records import NewGymnast
from chordline.errors import RecordsBusyError, TakenError
from club_stories import file_photo

NOW = datetime(2026, 3, 1, 17, tzinfo=UTC)
SOON = NOW + timedelta(minutes=10)


def _club(records: SqlRecords) -> int:
    with records.transaction() as tx:
        return tx.clubs.add("Turnverein").id


def _lea(records: SqlRecords, club_id: int) -> int:
    with records.transaction() as tx:
        made = tx.accounts.add(club_id, "Léa", role="lead", password_hash="h", must_change=False)
        return made.id


def test_a_name_is_one_whatever_its_case_and_accents(records: SqlRecords):
    club_id = _club(records)
    with records.reading() as tx:
        assert not tx.accounts.any()
    lea = _lea(records, club_id)
    with pytest.raises(TakenError), records.transaction() as tx:
        tx.accounts.add(club_id, "lea", role="guest", password_hash="h", must_change=False)
    with records.reading() as tx:
        found = tx.accounts.named(club_id, " LÉA ")
        assert found is not None
        assert (found.id, found.name, found.role) == (lea, "Léa", "lead")
        assert tx.accounts.any()


def test_a_login_is_found_by_its_digest_until_it_is_ended(records: SqlRecords):
    lea = _lea(records, _club(records))
    with records.transaction() as tx:
        for digest in ("a" * 64, "b" * 64):
            tx.accounts.add_login(lea, digest, device="iPad", made_at=NOW, expires_at=SOON)
        signed = tx.accounts.signed("a" * 64)
        assert signed is not None
        assert signed.login.expires_at == SOON
        tx.accounts.seen(signed.login.id, SOON)
        assert [one.seen_at for one in tx.accounts.logins(lea)] == [SOON, NOW]
        assert tx.accounts.end_logins(lea, but=signed.login.id) == 1
        assert tx.accounts.signed("b" * 64) is None
        tx.accounts.forget_old(logins_before=SOON + timedelta(1), tries_before=NOW)
        assert tx.accounts.signed("a" * 64) is None


def test_of_many_tablets_that_scan_one_code_one_comes_in(records: SqlRecords):
    lea = _lea(records, _club(records))
    with records.transaction() as tx:
        tx.accounts.add_pairing(lea, "c" * 64, made_at=NOW, expires_at=SOON)
        assert tx.accounts.take_pairing("c" * 64, SOON) is None

    def scan(_: int) -> bool:
        with records.transaction() as tx:
            return tx.accounts.take_pairing("c" * 64, NOW) is not None

    with ThreadPoolExecutor(4) as tablets:
        assert sum(tablets.map(scan, range(8))) == 1


def test_failures_are_kept_and_forgotten(records: SqlRecords):
    with records.transaction() as tx:
        assert tx.accounts.tries("account x") is None
        tx.accounts.put_tries("account x", Tries(1, NOW))
        tx.accounts.put_tries("account x", Tries(2, SOON))
        assert tx.accounts.tries("account x") == Tries(2, SOON)
        tx.accounts.forget_old(logins_before=NOW, tries_before=SOON + timedelta(seconds=1))
        assert tx.accounts.tries("account x") is None


def test_a_line_tells_whose_photo_it_was_also_once_she_is_erased(records: SqlRecords):
    club_id = _club(records)
    with records.transaction() as tx:
        anna = tx.gymnasts.add(club_id, NewGymnast("Anna"))
        photo = file_photo(tx, anna, "a.jpg")
        screen = tx.screens.on(anna.id, date(2026, 3, 1))
        hold = tx.screens.add_hold(
            screen.id, test="hold-front", seconds=9.0, reached_cap=False, author="Kim"
        )
        for kind, id in (("photo", photo.id), ("screen", screen.id), ("hold", hold.id)):
            assert tx.trail.whose(kind, id) == anna.id, kind
        assert tx.trail.whose("photo", 999) is None
    act = Act("changed", f"DELETE /photos/{photo.id}", ("photo", photo.id), who="Kim")
    token = ACTING.set(act)
    try:
        with records.transaction() as tx:
            tx.photos.remove(photo.id)
    finally:
        ACTING.reset(token)
    with records.transaction() as tx:
        tx.trail.add(NewTrail(NOW, "Léa", "saw", "GET /squad"))
        (seen, changed) = tx.trail.page(TrailQuery(club_id))
        assert (changed.entry.who, changed.entry.gymnast_id, changed.gymnast) == (
            "Kim",
            anna.id,
            "Anna",
        )
        assert tx.trail.page(TrailQuery(club_id, before=seen.id)) == (changed,)
        assert tx.trail.page(TrailQuery(club_id, who="Léa", what="saw")) == (seen,)
        tx.gymnasts.erase(anna.id)
        (left,) = tx.trail.page(TrailQuery(club_id, gymnast_id=anna.id))
        assert left.gymnast is None
        assert tx.trail.who(club_id) == ("Kim", "Léa")


def _add_and_fail(records: SqlRecords, club_id: int) -> None:
    with records.transaction() as tx:
        tx.clubs.add_group(club_id, "Red")
        raise RecordsBusyError


def test_a_change_that_is_not_kept_leaves_no_line(records: SqlRecords):
    club_id = _club(records)
    token = ACTING.set(Act("changed", "POST /groups", who="Kim"))
    try:
        with pytest.raises(RecordsBusyError):
            _add_and_fail(records, club_id)
        with records.reading() as tx:
            assert tx.trail.page(TrailQuery(club_id)) == ()
        for name in ("Red", "Blue"):
            with records.transaction() as tx:
                tx.clubs.add_group(club_id, name)
    finally:
        ACTING.reset(token)
    with records.reading() as tx:
        assert len(tx.trail.page(TrailQuery(club_id))) == 1
