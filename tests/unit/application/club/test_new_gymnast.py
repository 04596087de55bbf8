"""A gymnast comes in; photos that waited for her card are looked at again."""

import pytest

from chordline.adapters.db.records import SqlRecords
from chordline.application.club.new_gymnast import AddGymnast, AlreadySentError, GiveCards
from chordline.application.club.records import NewGymnast
from chordline.errors import RefusedInputError, TakenError
from club_stories import found_club, new_photo


def test_she_gets_the_lowest_free_card_from_one_on(records: SqlRecords) -> None:
    club, _ = found_club(records, "Ada", "Bea")  # cards 0 and 1
    add = AddGymnast(records)
    assert [add(club.id, name=name, next_card=True).card for name in ("Cleo", "Dina")] == [2, 3]
    assert add(club.id, name="Ema").card is None
    with pytest.raises(TakenError):
        add(club.id, name="Frida", card=2)


def test_a_form_takes_her_in_once(records: SqlRecords) -> None:
    club, _ = found_club(records)
    AddGymnast(records)(club.id, name="Ada", token="t")
    with pytest.raises(AlreadySentError):
        AddGymnast(records)(club.id, name="Ada", token="t")
    with records.reading() as tx:
        assert len(tx.gymnasts.named(club.id, "Ada")) == 1


def test_a_form_that_was_refused_may_be_sent_again(records: SqlRecords) -> None:
    club, _ = found_club(records, "Bea")
    with pytest.raises(RefusedInputError):
        AddGymnast(records)(club.id, name="Ada", card=0, token="t")
    assert AddGymnast(records)(club.id, name="Ada", card=1, token="t").card == 1


def test_photos_without_an_owner_are_looked_at_again_when_a_card_is_given(
    records: SqlRecords,
) -> None:
    club, _ = found_club(records, "Ada")
    with records.transaction() as tx:
        tx.photos.file(club.id, new_photo("7.jpg"))
        tx.gymnasts.add(club.id, NewGymnast("Bea"))
        assert tx.jobs.counts(club.id)["waiting"] == 0
    assert GiveCards(records)(club.id) == 1
    with records.reading() as tx:
        assert tx.jobs.counts(club.id)["waiting"] == 1
    assert GiveCards(records)(club.id) == 0
