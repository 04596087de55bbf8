"""Which growth table a row of a roster means."""

import pytest

from chordline.adapters.db.records import SqlRecords
from club_stories import found_club
from roster_stories import bring_in, effects, everything, faults, preview


@pytest.mark.parametrize(
    ("word", "reference"),
    [
        *((word, "girls") for word in ("girl", "Girls", "F", "female", "w", "weiblich", "Mädchen")),
        *((word, "girls") for word in ("Maedchen", "fille", "FÉMININ", " f. ")),
        *((word, "boys") for word in ("boy", "boys", "M", "male", "männlich", "Junge", "garçon")),
    ],
)
def test_words_in_three_tongues_are_understood(records: SqlRecords, word: str, reference: str):
    club, _ = found_club(records)
    bring_in(records, club.id, "name,sex", f"Anna,{word}")
    assert everything(records, club.id)[0]["growth_reference"] == reference


@pytest.mark.parametrize("word", ["x", "divers", "g", "h", "1", "girls or boys", "?"])
def test_any_other_word_is_a_fault_of_its_row(records: SqlRecords, word: str):
    club, _ = found_club(records)
    found = preview(records, club.id, "name,growth_reference", f"Anna,{word}", "Bea,")
    assert effects(found) == ["bad", "new"]
    assert f"'{word}' names neither girls nor boys" in faults(found.lines[0], "growth_reference")


def test_m_beside_j_could_be_a_girl_and_is_refused(records: SqlRecords):
    club, _ = found_club(records)
    found = preview(records, club.id, "name,sex", "Anna,M", "Ben,J", "Cleo,w")
    assert effects(found) == ["bad", "bad", "new"]
    assert "could be Mädchen or male, as line 3 says" in faults(found.lines[0], "growth_reference")


def test_a_change_is_shown_and_an_empty_cell_changes_nothing(records: SqlRecords):
    club, _ = found_club(records, "Anna")
    line = preview(records, club.id, "name,sex", "Anna,f").lines[0]
    assert [(one.column, one.before, one.after) for one in line.changes] == [
        ("growth_reference", "", "girls")
    ]
    bring_in(records, club.id, "name,sex", "Anna,f")
    assert effects(bring_in(records, club.id, "name,sex", "Anna,").preview) == ["same"]
    assert everything(records, club.id)[0]["growth_reference"] == "girls"
    bring_in(records, club.id, "name,sex,birth_date", "Anna,,2015-04-02")
    assert everything(records, club.id)[0]["growth_reference"] == "girls"
