"""Finding gymnasts, page by page, and data that cannot be true."""

from collections.abc import Callable
from contextlib import suppress
from dataclasses import replace
from datetime import date

import pytest

from chordline.adapters.db.records import SqlRecords
from chordline.adapters.db.schema import GYMNAST
from chordline.application.club.ports import Tx
from chordline.application.club.records import BodySize, GymnastRecord, NewGymnast
from chordline.application.club.views import GymnastQuery, SortKey
from chordline.core.body.measurement import Mark
from chordline.errors import ImpossibleRecordError, TakenError, WrongUseError
from club_stories import MONDAY, file_photo, found_club, marks_at, measured, new_photo

NAMES = ["Zoë Ångström", "Anna-Lena Zorn", "anna Berg", "Émilie 100%", "Łucja B_x", "Åsa", "Asa"]


def names_of(tx: Tx, query: GymnastQuery) -> list[str]:
    return [row.gymnast.name for row in tx.gymnasts.page(query).rows]


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("anna", ["anna Berg", "Anna-Lena Zorn"]),
        ("LENA", ["Anna-Lena Zorn"]),
        ("zo an", ["Anna-Lena Zorn", "Zoë Ångström"]),
        ("zoe ang", ["Zoë Ångström"]),
        ("z", ["Anna-Lena Zorn", "Zoë Ångström"]),
        ("emi", ["Émilie 100%"]),
        ("asa", ["Åsa", "Asa"]),
        ("nna", []),
        ("%", []),
        ("b_", ["anna Berg", "Łucja B_x"]),
        ("3", ["Émilie 100%"]),
        ("'; DROP TABLE gymnast; --", []),
    ],
)
def test_a_gymnast_is_found_by_the_beginnings_of_her_names_or_her_card(
    records: SqlRecords, text: str, found: list[str]
):
    club, _ = found_club(records, *NAMES)
    with records.reading() as tx:
        assert names_of(tx, GymnastQuery(club.id, text=text)) == found


@pytest.mark.parametrize("sort", ["name", "card", "birth_date", "last_screened"])
@pytest.mark.parametrize("descending", [False, True])
def test_pages_put_together_are_the_whole_list_in_order(
    records: SqlRecords, sort: SortKey, descending: bool
):
    with records.transaction() as tx:
        club = tx.clubs.add("Turnverein")
        for i in range(23):
            born = None if i % 5 == 0 else date(2010 + i % 3, 1, 1)
            card = None if i % 4 == 0 else (i * 7) % 31
            girl = tx.gymnasts.add(club.id, NewGymnast(f"Girl {i % 6}", card, born))
            if i % 3:
                tx.screens.on(girl.id, date(2025, 1, 1 + i % 4))
    query = GymnastQuery(club.id, sort=sort, descending=descending)
    with records.reading() as tx:
        whole = tx.gymnasts.page(query)
        rows, after = [], None
        while True:
            page = tx.gymnasts.page(replace(query, after=after, limit=5))
            rows += page.rows
            after = page.next
            if after is None:
                break
    assert rows == list(whole.rows)
    assert len(rows) == whole.total == 23
    keys = {
        "name": lambda row: row.gymnast.name,
        "card": lambda row: (row.gymnast.card is None, row.gymnast.card),
        "birth_date": lambda row: row.gymnast.birth_date or date.max,
        "last_screened": lambda row: row.last_screened_on or date.min,
    }
    order = [keys[sort](row) for row in rows]
    assert order == sorted(order, reverse=descending)


def test_who_is_taken_in_while_a_list_is_read_moves_nobody(records: SqlRecords):
    club, _ = found_club(records, "Bea", "Cleo", "Dora")
    query = GymnastQuery(club.id, limit=2)
    with records.transaction() as tx:
        first = tx.gymnasts.page(query)
        tx.gymnasts.add(club.id, NewGymnast("Anna"))
        assert names_of(tx, replace(query, after=first.next)) == ["Dora"]


@pytest.mark.parametrize("link", ["", "x", "eyJhIjoxfQ==", "WyJuYW1lLXVwIiwxLDJd", "🤸"])
def test_a_broken_link_to_a_page_is_told(records: SqlRecords, link: str):
    club, _ = found_club(records, "Anna")
    with records.reading() as tx:
        with pytest.raises(WrongUseError):
            tx.gymnasts.page(GymnastQuery(club.id, after=link))
        with pytest.raises(WrongUseError):
            tx.photos.queue(club.id, after=link)
        with pytest.raises(WrongUseError):
            tx.photos.unfiled(club.id, limit=0)


def test_archived_gymnasts_stand_in_a_list_of_their_own(records: SqlRecords):
    club, (anna, _) = found_club(records, "Anna", "Bea")
    with records.transaction() as tx:
        tx.gymnasts.archive(anna.id)
        assert names_of(tx, GymnastQuery(club.id)) == ["Bea"]
        assert names_of(tx, GymnastQuery(club.id, archived=True)) == ["Anna"]
        assert [one.name for one in tx.gymnasts.named(club.id, "ANNA")] == ["Anna"]


Deed = Callable[[Tx, GymnastRecord], object]


def _note(tx: Tx, girl: GymnastRecord, **said: object) -> object:
    entry = {"noted_on": MONDAY, "kind": "remark", "text": "", "author": "Kim"}
    return tx.gymnasts.add_note(girl.id, **{**entry, **said})


def _hold(tx: Tx, girl: GymnastRecord, seconds: float) -> object:
    screen = tx.screens.on(girl.id, MONDAY)
    return tx.screens.add_hold(
        screen.id, test="hold-front", seconds=seconds, reached_cap=False, author="Kim"
    )


def _close_before(tx: Tx, girl: GymnastRecord) -> object:
    note = tx.gymnasts.add_note(girl.id, noted_on=MONDAY, kind="pain", text="", author="Kim")
    return tx.gymnasts.close_note(note.id, date(2025, 8, 31))


def _settle(tx: Tx, girl: GymnastRecord, **said: object) -> object:
    return tx.photos.settle(file_photo(tx, girl, "a.jpg").id, revision=1, **said)


IMPOSSIBLE: dict[str, Deed] = {
    "no name": lambda tx, girl: tx.gymnasts.add(girl.club_id, NewGymnast("  ")),
    "a name without end": lambda tx, girl: tx.gymnasts.add(girl.club_id, NewGymnast("a" * 201)),
    "card −1": lambda tx, girl: tx.gymnasts.add(girl.club_id, NewGymnast("B", card=-1)),
    "card 1000": lambda tx, girl: tx.gymnasts.update(replace(girl, card=1000)),
    "born in 1899": lambda tx, girl: tx.gymnasts.update(
        replace(girl, birth_date=date(1899, 12, 31))
    ),
    "born in the future": lambda tx, girl: tx.gymnasts.add(
        girl.club_id, NewGymnast("B", birth_date=date(2999, 1, 1))
    ),
    "growth compared with nobody that there is": lambda tx, girl: tx.gymnasts.update(
        replace(girl, growth_reference="children")
    ),
    "screened before she was born": lambda tx, girl: tx.screens.on(girl.id, date(2013, 1, 1)),
    "born after her screen": lambda tx, girl: (
        tx.screens.on(girl.id, MONDAY),
        tx.gymnasts.update(replace(girl, birth_date=date(2025, 9, 2))),
    ),
    "measured before she was born": lambda tx, girl: tx.gymnasts.add_size(
        girl.id, BodySize(date(2013, 1, 1), 60.0)
    ),
    "stature in metres": lambda tx, girl: tx.gymnasts.add_size(girl.id, BodySize(MONDAY, 1.41)),
    "3 kg": lambda tx, girl: tx.gymnasts.add_size(girl.id, BodySize(MONDAY, mass_kg=3.0)),
    "sits higher than she stands": lambda tx, girl: tx.gymnasts.add_size(
        girl.id, BodySize(MONDAY, 120.0, sitting_height_cm=121.0)
    ),
    "a size without a number": lambda tx, girl: tx.gymnasts.add_size(girl.id, BodySize(MONDAY)),
    "a sign that is not named": lambda tx, girl: _note(tx, girl, kind="flag"),
    "a remark with a sign": lambda tx, girl: _note(tx, girl, flag="pain"),
    "an unknown kind of note": lambda tx, girl: _note(tx, girl, kind="gossip"),
    "a note that nobody wrote": lambda tx, girl: _note(tx, girl, author=""),
    "a note without end": lambda tx, girl: _note(tx, girl, text="a" * 4001),
    "a note closed before it was made": _close_before,
    "a hold of 0 s": lambda tx, girl: _hold(tx, girl, 0.0),
    "a hold of two hours": lambda tx, girl: _hold(tx, girl, 7200.0),
    "an empty file": lambda tx, girl: tx.photos.file(
        girl.club_id, replace(new_photo("a.jpg"), size_bytes=0)
    ),
    "a hash that is none": lambda tx, girl: tx.photos.file(
        girl.club_id, replace(new_photo("a.jpg"), sha256="abc")
    ),
    "an unknown front": lambda tx, girl: tx.photos.file(
        girl.club_id, new_photo("a.jpg", front="sideways")
    ),
    "person 0": lambda tx, girl: tx.photos.file(girl.club_id, new_photo("a.jpg", person=0)),
    "an unknown state": lambda tx, girl: _settle(tx, girl, state="lost"),
    "refused without a reason": lambda tx, girl: _settle(tx, girl, state="refused", worry=1.0),
    "worry without a doubt": lambda tx, girl: _settle(tx, girl, state="measured", worry=1.0),
    "marks that nobody made": lambda tx, girl: tx.photos.save_measurement(
        file_photo(tx, girl, "a.jpg").id, measured(), revision=1, marks_version=7, catalogue="c"
    ),
    "a mark at no place": lambda tx, girl: tx.photos.save_marks(
        file_photo(tx, girl, "a.jpg").id,
        replace(marks_at(1), landmarks={"hip": Mark(float("nan"), 1.0, 1.0, "hand")}),
        base_version=0,
        author="Kim",
    ),
}


@pytest.mark.parametrize("deed", IMPOSSIBLE.values(), ids=IMPOSSIBLE.keys())
def test_what_cannot_be_true_is_refused_with_a_sentence(records: SqlRecords, deed: Deed):
    with records.transaction() as tx:
        club = tx.clubs.add("Turnverein")
        anna = tx.gymnasts.add(club.id, NewGymnast("Anna", 0, date(2014, 2, 28)))

    def do_it() -> None:
        with records.transaction() as tx:
            deed(tx, anna)

    with pytest.raises(ImpossibleRecordError) as refused:
        do_it()
    assert refused.value.rule
    assert " " in str(refused.value)
    with records.reading() as tx:
        assert tx.gymnasts.page(GymnastQuery(club.id)).total == 1
        assert tx.gymnasts.view(anna.id).screens == ()


def test_a_card_taken_behind_the_programs_back_is_still_refused(records: SqlRecords):
    """The unique index stands where the friendly check looked too early."""
    _, (anna, bea) = found_club(records, "Anna", "Bea")
    with records.transaction() as tx, suppress(TakenError):
        tx.gymnasts.update(replace(bea, card=anna.card))
    with pytest.raises(ImpossibleRecordError) as refused, records.transaction() as tx:
        tx.gymnasts._session.change(GYMNAST, bea.id, card=anna.card)
    assert refused.value.rule == "uq_gymnast_club_id_card"
