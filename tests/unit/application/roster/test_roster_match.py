"""Which row of a file is which gymnast of the club."""

from datetime import date

import pytest

from chordline.adapters.db.records import SqlRecords
from chordline.application.club.records import BodySize, NewGymnast
from chordline.application.roster.preview import FieldChange
from club_stories import found_club
from roster_stories import TODAY, bring_in, effects, everything, faults, preview, put

FEBRUARY = date(2014, 2, 28)
MARCH = date(2014, 3, 28)


def test_a_card_stands_once_in_a_file(records: SqlRecords):
    club, _ = found_club(records)
    found = preview(records, club.id, "name,card", "Anna,7", "Bea,7", "Cleo,7")
    assert effects(found) == ["new", "bad", "bad"]
    assert faults(found.lines[2], "card") == "card 7 stands on line 2 already"


@pytest.mark.parametrize(
    ("first", "second", "effect"),
    [
        ("Anna,,", "anna,,", "bad"),
        ("Anna,,2014-02-28", "Anna,,", "bad"),
        ("Anna,,2014-02-28", "Anna,,2014-02-28", "bad"),
        ("Anna,1,", "Anna,,", "bad"),
        ("Anna,,2014-02-28", "Anna,,2014-03-28", "new"),
        ("Anna,1,", "Anna,2,", "new"),
        ("Anna,1,2014-02-28", "Anna,2,2014-02-28", "new"),
    ],
)
def test_a_name_stands_twice_only_where_cards_or_birth_dates_differ(
    records: SqlRecords, first: str, second: str, effect: str
):
    club, _ = found_club(records)
    found = preview(records, club.id, "name,card,born", first, second)
    assert effects(found) == ["new", effect]
    if effect == "bad":
        assert "line 2 already" in faults(found.lines[1], "name")


def test_two_of_one_name_and_birth_date_are_pointed_out(records: SqlRecords):
    club, _ = found_club(records)
    lines = ("name,card,born", "Anna,1,2014-02-28", "Anna,2,2014-02-28")
    assert "taken as two gymnasts" in preview(records, club.id, *lines).lines[1].remark


def test_she_is_known_by_card_and_name_and_by_name_and_birth_date(records: SqlRecords):
    club, _ = found_club(records)
    ids = put(
        records,
        club.id,
        NewGymnast("Zoë Muster", 7, FEBRUARY),
        NewGymnast("Zoë Muster", 8, MARCH),
        NewGymnast("Bea", birth_date=MARCH),
        NewGymnast("Cleo", 9),
    )
    found = preview(
        records,
        club.id,
        "card,name,born",
        "7,ZOE MUSTER,",
        "8,Zoë Muster,",
        "3,Bea,2014-03-28",
        ",Cleo,2014-03-28",
    )
    assert [line.gymnast_id for line in found.lines] == ids
    assert [line.changes for line in found.lines] == [
        (FieldChange("name", "Zoë Muster", "ZOE MUSTER"),),
        (),
        (FieldChange("card", "", "3"),),
        (FieldChange("birth_date", "", "2014-03-28"),),
    ]
    assert effects(found) == ["changes", "same", "changes", "changes"]


def test_one_of_two_with_her_name_is_not_guessed(records: SqlRecords):
    club, _ = found_club(records)
    put(records, club.id, NewGymnast("Anna", 1, FEBRUARY), NewGymnast("Anna", 2, MARCH))
    found = preview(records, club.id, "name,card", "Anna,")
    assert "2 in the club are called Anna" in faults(found.lines[0], "name")
    assert found.lines[0].gymnast_id is None


def test_two_rows_that_could_both_be_her_are_both_refused(records: SqlRecords):
    club, _ = found_club(records)
    put(records, club.id, NewGymnast("Anna"))
    found = preview(records, club.id, "name,card", "Anna,1", "Anna,2")
    assert effects(found) == ["bad", "bad"]
    assert "line 3 could both be Anna" in faults(found.lines[0], "name")


def test_the_birth_date_tells_her_from_a_namesake_without_one(records: SqlRecords):
    club, _ = found_club(records)
    _, born = put(records, club.id, NewGymnast("Anna"), NewGymnast("Anna", birth_date=MARCH))
    found = preview(records, club.id, "name,born", "Anna,2014-03-28")
    assert [line.gymnast_id for line in found.lines] == [born]
    found = preview(records, club.id, "name,born", "Anna,28.03.2014")
    assert [line.gymnast_id for line in found.lines] == [None]
    assert [column for column, _ in found.lines[0].faults] == ["birth_date"]


def test_the_birth_date_counts_more_than_a_card_that_is_a_namesakes(records: SqlRecords):
    club, _ = found_club(records)
    _, late = put(records, club.id, NewGymnast("Anna", 1, FEBRUARY), NewGymnast("Anna", 2, MARCH))
    found = preview(records, club.id, "name,card,born", "Anna,1,2014-03-28")
    assert found.lines[0].gymnast_id == late
    assert faults(found.lines[0], "card") == "card 1 is Anna's in the club; write another card"


def test_a_namesake_with_another_card_is_new_where_the_first_stands_in_the_file(
    records: SqlRecords,
):
    club, _ = found_club(records)
    (anna,) = put(records, club.id, NewGymnast("Anna", 1))
    found = preview(records, club.id, "name,card", "Anna,2", "Anna,1")
    assert [line.gymnast_id for line in found.lines] == [None, anna]
    assert effects(found) == ["new", "same"]
    assert effects(preview(records, club.id, "name,card", "Anna,2")) == ["changes"]


def test_another_birth_date_is_another_gymnast_and_this_is_pointed_out(records: SqlRecords):
    club, _ = found_club(records)
    put(records, club.id, NewGymnast("Anna", birth_date=FEBRUARY))
    found = preview(records, club.id, "name,born", "Anna,2014-03-28")
    assert effects(found) == ["new"]
    assert "born 2014-02-28, is another gymnast" in found.lines[0].remark


def test_with_her_card_and_name_a_birth_date_is_corrected(records: SqlRecords):
    club, _ = found_club(records)
    put(records, club.id, NewGymnast("Anna", 1, FEBRUARY))
    found = preview(records, club.id, "name,card,born", "Anna,1,2014-03-28")
    assert found.lines[0].changes == (FieldChange("birth_date", "2014-02-28", "2014-03-28"),)


def test_a_birth_date_after_her_first_screen_or_size_is_refused(records: SqlRecords):
    club, _ = found_club(records)
    (anna,) = put(records, club.id, NewGymnast("Anna", 1, date(2005, 1, 1)))
    with records.transaction() as tx:
        tx.screens.on(anna, date(2012, 5, 1))
    lines = ("name,card,born", "Anna,1,2014-02-28")
    assert "2012-05-01" in faults(preview(records, club.id, *lines).lines[0], "birth_date")
    with records.transaction() as tx:
        tx.gymnasts.add_size(anna, BodySize(date(2011, 5, 1), mass_kg=20.0))
    assert "2011-05-01" in faults(preview(records, club.id, *lines).lines[0], "birth_date")


def test_sizes_from_before_her_birth_are_refused(records: SqlRecords):
    club, _ = found_club(records)
    put(records, club.id, NewGymnast("Anna", birth_date=FEBRUARY))
    lines = ("name,born,mass_kg,measured on", "Anna,,20,2013-01-01", "Bea,2016-01-01,20,2015-01-01")
    found = preview(records, club.id, *lines)
    assert "born on 2014-02-28" in faults(found.lines[0], "measured_on")
    assert "born on 2016-01-01" in faults(found.lines[1], "measured_on")


def test_a_sitting_height_is_held_against_the_stature_of_that_day(records: SqlRecords):
    club, (anna,) = found_club(records, "Anna")
    with records.transaction() as tx:
        tx.gymnasts.add_size(anna.id, BodySize(TODAY, stature_cm=80.0))
    found = preview(records, club.id, "name,sitting_height_cm", "Anna,81")
    assert "she stands (80 cm)" in faults(found.lines[0], "sitting_height_cm")


def test_somebody_elses_card_is_refused(records: SqlRecords):
    club, _ = found_club(records)
    put(records, club.id, NewGymnast("Anna", 1, FEBRUARY), NewGymnast("Bea", 2))
    found = preview(
        records, club.id, "name,card,born", "Cleo,1,", "Bea,1,", "Anne,1,2014-02-28", "Anna,,"
    )
    assert effects(found) == ["bad", "bad", "bad", "same"]
    assert faults(found.lines[0], "card") == "card 1 is Anna's in the club; write another card"
    assert "if this is her new name" in faults(found.lines[2], "card")


def test_cards_can_be_handed_out_anew_in_a_circle(records: SqlRecords):
    club, _ = found_club(records)
    put(records, club.id, NewGymnast("Anna", 1), NewGymnast("Bea", 2), NewGymnast("Cleo", 3))
    bring_in(records, club.id, "name,card", "Dana,1", "Anna,2", "Bea,3", "Cleo,4")
    assert {row["name"]: row["card"] for row in everything(records, club.id)} == {
        "Dana": 1,
        "Anna": 2,
        "Bea": 3,
        "Cleo": 4,
    }


def test_one_who_is_left_out_keeps_her_card_and_so_do_those_behind_her(records: SqlRecords):
    club, _ = found_club(records)
    put(records, club.id, NewGymnast("Anna", 1), NewGymnast("Bea", 2), NewGymnast("Cleo", 3))
    found = preview(records, club.id, "name,card,mass_kg", "Anna,2,", "Bea,3,", "Cleo,4,999")
    assert effects(found) == ["bad", "bad", "bad"]
    assert [faults(line, "card")[:13] for line in found.lines] == [
        "card 2 is Bea",
        "card 3 is Cle",
        "",
    ]


def test_one_who_was_put_away_is_not_taken_in_a_second_time(records: SqlRecords):
    club, _ = found_club(records)
    old, other = put(records, club.id, NewGymnast("Anna", 1, FEBRUARY), NewGymnast("Bea"))
    with records.transaction() as tx:
        tx.gymnasts.archive(old)
        tx.gymnasts.archive(other)
    found = preview(
        records, club.id, "name,card,born", "Anna,1,2014-02-28", "Bea,2,", "Anna,3,2014-03-28"
    )
    assert effects(found) == ["bad", "new", "new"]
    assert "bring her back first" in faults(found.lines[0], "name")
    assert "was put away" in found.lines[1].remark
    assert found.lines[2].remark == ""
