import re
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from chordline.adapters.db.schema import BODY_SIZE
from chordline.adapters.db.search_keys import name_key as key_of_the_records
from chordline.application.club.names import name_key
from chordline.application.days import age_on
from chordline.application.roster.columns import COLUMNS, SPELLINGS, WITHOUT_UNIT, read_header
from chordline.application.roster.values import (
    SIZES,
    join_groups,
    read_row,
    split_groups,
    write_number,
)
from chordline.errors import RefusedInputError
from roster_stories import TODAY

GUIDE = (Path(__file__).resolve().parents[4] / "docs" / "roster.md").read_text(encoding="utf-8")


def read(**cells: str):
    return read_row({"name": "Anna", **cells}, today=TODAY)


def said(column: str, cell: str) -> str:
    row = read(**{column: cell})
    return "; ".join(sentence for name, sentence in row.faults + row.doubts if name == column)


@pytest.mark.parametrize(
    ("cell", "sentence"),
    [
        ("2016-02-30", "not in the calendar"),
        ("30.02.2016", "not in the calendar"),
        ("03/04/2016", "could be 2016-04-03 or 2016-03-04"),
        ("3.4.2016", "could be 2016-04-03 or 2016-03-04"),
        ("31/05/2016", "write 2016-05-31"),
        ("05-31-2016", "write 2016-05-31"),
        ("3/3/2016", "write 2016-03-03"),
        ("16-04-03", "write it like 2016-04-03"),
        ("20160403", "write it like 2016-04-03"),
        ("42463", "write it like 2016-04-03"),
        ("٢٠١٦-٠٤-٠٣", "write it like 2016-04-03"),
        ("2025-09-11", "still to come"),
        ("2023-09-11", "1 year old"),
        ("1999-09-10", "26 years old"),
    ],
)
def test_a_birth_date_that_cannot_be_or_has_two_readings_is_refused(cell: str, sentence: str):
    assert sentence in said("birth_date", cell)


@pytest.mark.parametrize("cell", ["2023-09-10", "1999-09-11", "2016-02-29", " 2016-04-03 "])
def test_a_birth_date_is_taken_from_two_to_twenty_five_years(cell: str):
    row = read(birth_date=cell)
    assert (row.faults, row.doubts) == ([], [])
    assert row.values.birth_date == date.fromisoformat(cell.strip())


def test_years_are_counted_to_the_birthday():
    assert age_on(date(2025, 2, 28), date(2012, 2, 29)) == 12
    assert age_on(date(2025, 3, 1), date(2012, 2, 29)) == 13


@pytest.mark.parametrize(
    ("column", "cell", "value"),
    [
        ("stature_cm", "141,5", 141.5),
        ("stature_cm", "141.50", 141.5),
        ("mass_kg", "34", 34.0),
        ("sitting_height_cm", "73", 73.0),
    ],
)
def test_a_decimal_comma_is_a_decimal_point(column: str, cell: str, value: float):
    row = read(**{column: cell})
    assert row.faults == []
    assert getattr(row.values, column) == value


@pytest.mark.parametrize(
    ("column", "cell", "sentence"),
    [
        ("stature_cm", "1.42", "from 50 to 230"),
        ("stature_cm", "1,415.0", "is no number"),
        ("stature_cm", "141 cm", "write the cm alone"),
        ("stature_cm", "nan", "is no number"),
        ("stature_cm", "-140", "is no number"),
        ("stature_cm", "1e2", "is no number"),
        ("mass_kg", "201", "from 5 to 200"),
        ("mass_kg", "?", "write the kg alone"),
        ("sitting_height_cm", "20", "from 25 to 130"),
    ],
)
def test_a_wild_size_is_refused(column: str, cell: str, sentence: str):
    assert sentence in said(column, cell)


def test_the_ranges_of_sizes_are_those_of_the_records():
    rules = {str(rule.sqltext) for rule in BODY_SIZE.constraints if hasattr(rule, "sqltext")}
    for column, (low, high) in SIZES.items():
        assert f"{column} BETWEEN {low:g} AND {high:g}" in rules


@pytest.mark.parametrize("cell", ["x", "7.0", "1000", "-1", "1 2", "٣"])
def test_a_card_is_a_number_up_to_999(cell: str):
    assert "write one from 0 to 999" in said("card", cell)


@pytest.mark.parametrize(("cell", "card"), [("0", 0), ("007", 7), ("999", 999), ("", None)])
def test_a_card_is_read(cell: str, card: int | None):
    assert read(card=cell).values.card == card


@pytest.mark.parametrize(
    ("cell", "sentence"),
    [
        ("", "is empty"),
        ("   ", "is empty"),
        ("--", "has no letter"),
        ("An\u200bna", "U+200B"),
        ("Anna\x07", "U+0007"),
        ("Anna\u202e", "U+202E"),
        ("An\ufffdna", "U+FFFD"),
        ("Anna\nMuster", "line break"),
        ("A" * 101, "101 letters are too many"),
    ],
)
def test_a_name_that_is_none_is_refused(cell: str, sentence: str):
    assert sentence in said("name", cell)


@pytest.mark.parametrize(
    ("cell", "name"),
    [
        ("A" * 100, "A" * 100),
        (" Zoe\u0308 \u00a0 M. ", "Zo\u00eb M."),
        ("\u0646\u200c\u0627", "\u0646\u200c\u0627"),
        ("O'Brien-Ångström", "O'Brien-Ångström"),
    ],
)
def test_a_name_stays_what_it_is(cell: str, name: str):
    row = read(name=cell)
    assert (row.faults, row.doubts, row.values.name) == ([], [], name)


@pytest.mark.parametrize(
    ("cell", "value"), [("Yes", True), ("y", True), ("TRUE", True), ("no", False), ("", None)]
)
def test_consent_is_yes_or_no_or_unsaid(cell: str, value: bool | None):
    assert read(consent_measure=cell).values.consent_measure is value


def test_a_cross_is_no_consent():
    assert "write one of them" in said("consent_keep_pictures", "x")
    assert "far from now" in said("consent_until", "2205-06-30")
    assert "still to come" in said("measured_on", "2025-09-11")
    assert "long ago" in said("measured_on", "1925-09-01")


@pytest.mark.parametrize(
    ("cell", "groups"),
    [
        ("", ()),
        ("A", ("A",)),
        (" A | B;C ;; ", ("A", "B", "C")),
        ("A|a", ("A",)),
        (r"Wed\;Fri|x\|y|back\\", ("Wed;Fri", "x|y", "back\\")),
    ],
)
def test_groups_are_separated_by_a_bar_or_semicolon(cell: str, groups: tuple[str, ...]):
    assert split_groups(cell) == groups


@given(st.lists(st.text(st.sampled_from("ab|;\\ =é"), min_size=1, max_size=6)))
def test_groups_come_back_whatever_they_are_called(names: list[str]):
    different = {name_key(name) or name.strip(): name.strip() for name in names if name.strip()}
    groups = tuple(different.values())
    assert split_groups(join_groups(groups)) == groups


@given(st.floats(5, 230))
def test_a_number_comes_back_as_it_was(value: float):
    assert float(write_number(value)) == value


@given(st.text(max_size=30))
def test_two_names_are_one_here_where_they_are_one_in_the_records(name: str):
    assert name_key(name) == key_of_the_records(name).strip()


@pytest.mark.parametrize(
    ("spelled", "column"),
    [
        ("CARD No.", "card"),
        ("Date of birth", "birth_date"),
        ("Birth-Date", "birth_date"),
        ("  DOB ", "birth_date"),
        ("Height (cm)", "stature_cm"),
        ("height in cm", "stature_cm"),
        ("Weight_KG", "mass_kg"),
        ("sitting height [cm]", "sitting_height_cm"),
        ("Squad", "group"),
    ],
)
def test_a_column_is_known_by_a_coachs_spelling(spelled: str, column: str):
    header = read_header(["Name", spelled])
    assert header.spelled[column] == spelled
    assert (header.unknown, header.unit_unsaid) == ((), frozenset())


def test_every_column_is_known_by_its_own_name():
    assert tuple(read_header(COLUMNS).spelled) == COLUMNS


def test_a_header_says_which_columns_are_not_understood():
    header = read_header(["name", "height", "Weight (lb)", "shoe size"])
    assert header.unit_unsaid == {"stature_cm"}
    assert header.other_unit == {"mass_kg"}
    assert header.unknown == ("shoe size",)


@pytest.mark.parametrize(
    ("columns", "sentence"),
    [
        (["name", "born", "dob"], "'born' and 'dob' both mean birth_date"),
        (["Anna", "7"], "write a first line with names such as card, name"),
        (["card", "born"], "no column is called name"),
        (["First name", "Last name", "card"], "put it whole into one column"),
    ],
)
def test_a_header_that_leaves_it_unclear_is_refused(columns: list[str], sentence: str):
    with pytest.raises(RefusedInputError, match=sentence):
        read_header(columns)


def test_the_guide_to_the_file_has_every_column_with_every_spelling():
    rows = dict(re.findall(r"^\| `(\w+)` \|.*\| ([^|]*) \|$", GUIDE, re.MULTILINE))
    assert tuple(rows) == COLUMNS
    for column in COLUMNS:
        usual, _, without_unit = rows[column].partition("; without unit: ")
        assert tuple(usual.split(", ")) == SPELLINGS[column]
        assert tuple(filter(None, without_unit.split(", "))) == WITHOUT_UNIT.get(column, ())
