from contextlib import suppress
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from chordline.adapters.tables.csv_table import CsvTableReader, CsvTableWriter
from chordline.adapters.tables.formula_guard import guard, unguard
from chordline.adapters.tables.limits import MOST_BYTES, MOST_ROWS
from chordline.adapters.tables.table_file import TableFileReader, writer_for
from chordline.adapters.tables.xlsx_table import XlsxTableWriter
from chordline.application.roster.table import RosterTable
from chordline.errors import RefusedInputError, WrongUseError


def read(data: str | bytes) -> RosterTable:
    return CsvTableReader().read(data.encode() if isinstance(data, str) else data)


def cells(found: RosterTable) -> list[list[str]]:
    return [list(row.cells.values()) for row in found.rows]


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("separator", [",", ";", "\t"])
def test_a_file_is_read_as_spreadsheets_write_it(encoding: str, end: str, separator: str):
    lines = [separator.join(row) for row in (("name", "card"), ("Zoë", "7"), ("", ""), ("Bea", ""))]
    found = read((end.join(lines) + end).encode(encoding))
    assert found.columns == ("name", "card")
    assert cells(found) == [["Zoë", "7"], ["Bea", ""]]
    assert [row.line for row in found.rows] == [2, 4]
    assert found.notes == ()


def test_utf_16_with_the_other_byte_order_is_read():
    assert cells(read(b"\xfe\xff" + "name\nZoë".encode("utf-16-be"))) == [["Zoë"]]


@pytest.mark.parametrize("name", ["Zoë", "Jürgen Groß", "Määttä", "Þórður", "ÅSA BJÖRK", "D’Arcy"])
def test_a_western_encoding_is_concluded_and_said_with_a_name(name: str):
    found = read(f"name,card\nAnna,1\n{name},7".encode("cp1252"))
    assert cells(found)[1] == [name, "7"]
    assert found.notes == (
        f"read as Windows-1252: '{name}'; if names look wrong, save it as 'CSV UTF-8' "
        "and choose it again",
    )


@pytest.mark.parametrize(
    ("name", "encoding"),
    [
        ("Анна", "cp1251"),
        ("Анна", "koi8-r"),
        ("Μαρία", "cp1253"),
        ("Łucja", "cp1250"),
        ("René", "mac-roman"),
        ("Märta", "mac-roman"),
        ("Jürgen", "cp850"),
        ("日本", "shift-jis"),
    ],
)
def test_an_encoding_that_cannot_be_told_is_refused(name: str, encoding: str):
    with pytest.raises(RefusedInputError, match="save it as 'CSV UTF-8'"):
        read(f"name,card\nAnna Muster,1\n{name} Muster,7\n".encode(encoding))


@pytest.mark.parametrize(
    ("data", "sentence"),
    [
        (b"", "the file is empty"),
        (b" \n\r\n ", "the file is empty"),
        (b"\xef\xbb\xbf,,\n,,\n", "the file is empty"),
        (b"name,card\n", "one line only"),
        (b"name,card\n,\n \n", "one line only"),
        (b"name\0card\nAnna\0", "is no text"),
        ("name\nAnna".encode("utf-16-le"), "is no text"),
        (b"\xff\xfen\0a\0m", "is damaged"),
        (b"\xff\xfen\0\0\0", "is no text"),
        (b"\xef\xbb\xbfname\nZo\xeb", "is damaged"),
        (b"name;card,born\nAnna;7,", "comma or semicolon stands between"),
        (b"name,Name,name\nA,B,C", "two columns are called 'name'"),
        (b'name,card\n"Anna,7\nBea,8\n', "the double quotes from line 2 on"),
        (b'name,card\nBea,8\n"Anna"x,7\n', "the double quotes from line 3 on"),
    ],
)
def test_what_is_no_table_is_refused_with_what_to_do(data: bytes, sentence: str):
    with pytest.raises(RefusedInputError, match=sentence):
        read(data)


def test_a_file_beyond_the_limits_is_refused():
    with pytest.raises(RefusedInputError, match="5 MB are the most"):
        read(b"name\n" + b"A" * MOST_BYTES)
    full = b"name\n" + b"A\n" * MOST_ROWS
    assert len(read(full).rows) == MOST_ROWS
    with pytest.raises(RefusedInputError, match="more than 20000 rows"):
        read(full + b"A\n")
    with pytest.raises(RefusedInputError, match="more than 200 columns"):
        read(",".join(f"c{at}" for at in range(201)) + "\nA")


def test_a_line_break_within_quotes_belongs_to_the_cell_and_lines_are_still_counted():
    found = read('name,note\n"An\r\nna","a;b ""c"""\nBea,\n')
    assert cells(found) == [["An\r\nna", 'a;b "c"'], ["Bea", ""]]
    assert [row.line for row in found.rows] == [2, 4]


def test_the_separator_is_found_outside_of_quotes():
    found = read('"name, first, or both";card\nAnna;7')
    assert found.columns == ("name, first, or both", "card")


def test_the_separator_may_stand_on_a_line_of_its_own():
    found = read("sep=;\nname;card,no\nAnna;7")
    assert found.columns == ("name", "card,no")
    assert found.rows[0].line == 3


def test_one_column_needs_no_separator():
    assert cells(read("name\nAnna\nBea")) == [["Anna"], ["Bea"]]


@pytest.mark.parametrize("row", ["Anna,141,5", "Anna", "Anna,7,"])
def test_a_row_with_other_cells_than_the_header_is_a_fault(row: str):
    found = read(f"name,card\nBea,8\n{row}\nCleo,9")
    assert [len(one.faults) for one in found.rows] == [0, 1, 0]
    assert "names 2 columns" in found.rows[1].faults[0][1]
    assert found.rows[1].cells == {}


def test_a_column_without_a_name_is_told_where_something_stands_in_it():
    assert read("name,,\nAnna,,\nBea,,").columns == ("name",)
    assert read("name,,\nAnna,,\nBea,,x").columns == ("name", "column 3")


@pytest.mark.parametrize("text", ["=1+1", "+1", "-Anna", "@x", "\tx", "\rx", "＝1", "'=x", "''-"])
def test_a_cell_that_a_spreadsheet_would_run_gets_an_apostrophe(text: str):
    data = CsvTableWriter().write(["name"], [{"name": text}])
    assert f"'{text}" in data.decode("utf-8-sig")
    assert cells(read(data)) == [[text]]


@pytest.mark.parametrize("text", ["'t Anna", "Anna=", "O'Brien", "a\tb"])
def test_other_texts_stay_as_they_are(text: str):
    assert (guard(text), unguard(text)) == (text, text)


@given(st.text(st.sampled_from("'=+-@\t\r\nA＝ "), max_size=6))
def test_no_guarded_text_begins_as_a_formula_and_all_come_back(text: str):
    assert unguard(guard(text)) == text
    assert not guard(text).startswith(("=", "+", "-", "@", "\t", "\r", "\n", "＝"))


def test_values_are_written_as_they_are_read():
    row = {"name": "Zoë", "card": 7, "born": date(2016, 4, 3), "cm": 141.0, "kg": None}
    data = CsvTableWriter().write(tuple(row), [row])
    assert data.startswith(b"\xef\xbb\xbf")
    assert cells(read(data)) == [["Zoë", "7", "2016-04-03", "141", ""]]


def old_office(*more: bytes) -> bytes:
    return b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\0" * 500 + b"".join(more)


@pytest.mark.parametrize(
    ("data", "sentence"),
    [
        (old_office(), "the old kind XLS; save it as XLSX"),
        (old_office("EncryptedPackage".encode("utf-16-le")), "has a password"),
        (b"%PDF-1.7 name,card", "is a PDF"),
        (b"\x89PNG\r\n\x1a\n", "is a picture"),
        (b"\xef\xbb\xbf <html><table>", "not a table"),
        (b"{\\rtf1 name", "is a text document"),
        (b"PK\x03\x04 torn", "is damaged"),
        (b"\x1f\x8b\x08\0\0", "is no text"),
    ],
)
def test_another_kind_of_file_is_refused_whatever_its_name(data: bytes, sentence: str):
    with pytest.raises(RefusedInputError, match=sentence):
        TableFileReader().read(data)


def test_the_content_tells_that_a_file_is_csv():
    assert cells(TableFileReader().read(b"name\nAnna")) == [["Anna"]]


def test_the_name_tells_what_to_write():
    assert isinstance(writer_for("a.CSV"), CsvTableWriter)
    assert isinstance(writer_for("a.b.xlsx"), XlsxTableWriter)
    with pytest.raises(WrongUseError, match=r"not to '\.ods'"):
        writer_for("a.ods")


@given(st.binary(max_size=200) | st.text(max_size=80).map(str.encode))
def test_no_bytes_from_outside_break_the_reader(data: bytes):
    with suppress(RefusedInputError):
        TableFileReader().read(data)
