import io
import re
import zipfile
from collections.abc import Callable, Sequence
from datetime import date, datetime
from typing import Any

import pytest
from openpyxl import Workbook, load_workbook

from chordline.adapters.tables.limits import MOST_ROWS
from chordline.adapters.tables.table_file import TableFileReader
from chordline.adapters.tables.xlsx_table import MOST_UNPACKED_BYTES, XlsxTableWriter
from chordline.application.roster.table import RosterTable
from chordline.errors import RefusedInputError

SHEET = "xl/worksheets/sheet1.xml"


def book(*rows: Sequence[Any], more: Sequence[str] = ()) -> bytes:
    made = Workbook()
    sheet = made.active
    assert sheet is not None
    sheet.title = "Gymnasts"
    for row in rows:
        sheet.append(list(row))
    for title in more:
        made.create_sheet(title).append(["other"])
    file = io.BytesIO()
    made.save(file)
    return file.getvalue()


def rewritten(data: bytes, part: str, change: Callable[[bytes], bytes]) -> bytes:
    file = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(file, "w") as new:
        for one in old.infolist():
            text = old.read(one)
            new.writestr(one.filename, change(text) if one.filename == part else text)
    return file.getvalue()


def zipped(**parts: bytes) -> bytes:
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as new:
        for name, data in parts.items():
            new.writestr(name, data)
    return file.getvalue()


def read(data: bytes) -> RosterTable:
    return TableFileReader().read(data)


def cells(found: RosterTable) -> list[list[str]]:
    return [list(row.cells.values()) for row in found.rows]


def test_days_numbers_and_yes_come_as_text():
    found = read(
        book(
            ("name", "card", "born", "cm", "yes", "text"),
            ("Zoë", 7, date(2016, 4, 3), 141.5, True, "03/04/2016"),
            ("Bea", 8.0, datetime(2016, 4, 3, 12, 30), 141.0, False, None),
        )
    )
    assert cells(found) == [
        ["Zoë", "7", "2016-04-03", "141.5", "yes", "03/04/2016"],
        ["Bea", "8", "2016-04-03T12:30:00", "141", "no", ""],
    ]
    assert found.notes == ()


def test_a_short_row_is_filled_and_an_empty_one_left_out():
    found = read(book(("name", "card", "born"), ("Anna",), (), (None, " "), ("Bea", 8)))
    assert [(row.line, row.faults) for row in found.rows] == [(2, ()), (5, ())]
    assert cells(found) == [["Anna", "", ""], ["Bea", "8", ""]]


def test_a_cell_beyond_the_named_columns_is_a_fault():
    found = read(book(("name", "card"), ("Anna", 7, None, "late")))
    assert found.rows[0].faults[0][0] == ""
    assert "cell D2 stands beyond" in found.rows[0].faults[0][1]


def test_the_first_sheet_is_read_and_the_others_are_told():
    found = read(book(("name",), ("Anna",), more=("Notes", "2024")))
    assert found.notes == ("the first sheet, 'Gymnasts', was read; not read: 'Notes', '2024'",)


def test_a_formula_without_a_result_is_a_fault_and_one_with_a_result_is_its_result():
    data = book(("name", "cm", "kg", "note"), ("Anna", "=140+1", "=30+4", "=B2"))

    def calculated(text: bytes) -> bytes:
        text = text.replace(b"<f>140+1</f><v />", b"<f>140+1</f><v>141</v>")
        empty = re.sub(
            rb'(<c r="D2") ?[^>]*><f>B2</f><v ?/>', rb'\1 t="str"><f>B2</f><v></v>', text
        )
        assert empty != text
        return empty

    found = read(rewritten(data, SHEET, calculated))
    assert cells(found) == [["Anna", "141", "", ""]]
    assert found.rows[0].faults == (
        ("kg", "holds a formula without a result; write the value itself"),
    )


def test_an_error_in_a_cell_is_a_fault():
    found = read(book(("name", "cm"), ("Anna", "#REF!")))
    assert "holds the error #REF!" in found.rows[0].faults[0][1]


def test_a_day_that_a_spreadsheet_cannot_have_is_a_fault_and_no_warning():
    data = book(("name", "born"), ("Anna", date(2016, 4, 3)))
    found = read(rewritten(data, SHEET, lambda text: text.replace(b">42463<", b">99999999<")))
    assert found.rows[0].faults[0][0] == "born"


def test_a_wrong_size_in_the_file_loses_no_row():
    data = book(("name", "card"), ("Anna", 7), ("Bea", 8))

    def shrink(text: bytes) -> bytes:
        assert b'ref="A1:B3"' in text
        return text.replace(b'ref="A1:B3"', b'ref="A1:A2"')

    assert cells(read(rewritten(data, SHEET, shrink))) == [["Anna", "7"], ["Bea", "8"]]


@pytest.mark.parametrize(
    ("data", "sentence"),
    [
        (book(), "the file is empty"),
        (book(("name",)), "one line only"),
        (book(("name", "name"), ("A", "B")), "two columns are called 'name'"),
        (book(("name", "#REF!"), ("A", "B")), "columns' names cannot be read"),
        (rewritten(book(("name",), ("A",)), SHEET, lambda text: text[:-60]), "is damaged"),
        (rewritten(book(("name",), ("A",)), "xl/workbook.xml", lambda _: b"x"), "is damaged"),
        (book(("name",), ("A",))[:-40], "is damaged"),
        (zipped(a=b"name"), "a ZIP without a table"),
        (zipped(mimetype=b"application/vnd.oasis.opendocument.spreadsheet"), "the kind ODS"),
        (zipped(**{"Index/Document.iwa": b""}), "the kind NUMBERS"),
        (zipped(**{"xl/workbook.bin": b""}), "the kind XLSB"),
    ],
)
def test_what_is_no_table_is_refused_with_what_to_do(data: bytes, sentence: str):
    with pytest.raises(RefusedInputError, match=sentence):
        read(data)


def test_a_file_that_would_fill_the_memory_is_refused_before_it_is_unpacked():
    bomb = zipped(**{"xl/workbook.xml": b" " * (MOST_UNPACKED_BYTES + 1)})
    assert len(bomb) < 100_000
    with pytest.raises(RefusedInputError, match="unpacks to 50 MB"):
        read(bomb)


def test_words_that_grow_without_end_are_refused():
    def swell(text: bytes) -> bytes:
        return b'<!DOCTYPE x [<!ENTITY a "aaaa">]>' + text

    with pytest.raises(RefusedInputError, match="is damaged"):
        read(rewritten(book(("name",), ("A",)), SHEET, swell))


@pytest.mark.slow
def test_a_row_far_down_or_a_cell_far_out_does_not_hold_the_reader_up():
    data = book(("name",), ("Anna",))

    def far_down(text: bytes) -> bytes:
        assert b'r="2"' in text
        return text.replace(b'<row r="2"', b'<row r="99999999999"').replace(b'r="A2"', b"")

    with pytest.raises(RefusedInputError, match="one line only"):
        read(rewritten(data, SHEET, far_down))
    wide = b"".join(
        b'<row r="%d"><c r="XFD%d"><v>1</v></c></row>' % (at, at) for at in range(2, 900)
    )

    def far_out(text: bytes) -> bytes:
        return text.replace(b"</sheetData>", wide + b"</sheetData>")

    with pytest.raises(RefusedInputError, match="too wide"):
        read(rewritten(data, SHEET, far_out))


@pytest.mark.slow
def test_a_file_with_too_many_rows_is_refused():
    with pytest.raises(RefusedInputError, match="more than 20000 rows"):
        read(book(("name",), *[("A",)] * (MOST_ROWS + 1)))


def test_no_text_is_written_as_a_formula():
    row = {
        "name": "=1+1",
        "born": date(2016, 4, 3),
        "old": date(1900, 1, 1),
        "cm": 141.5,
        "no": None,
    }
    data = XlsxTableWriter().write(tuple(row), [row])
    sheet = load_workbook(io.BytesIO(data)).active
    assert sheet is not None
    assert sheet["A2"].data_type == "s"
    assert sheet["A2"].quotePrefix
    assert sheet["B2"].is_date
    assert sheet["B2"].number_format == "yyyy-mm-dd"
    # Spreadsheets count the days before March 1900 one off.
    assert sheet["C2"].data_type == "s"
    assert cells(read(data)) == [["=1+1", "2016-04-03", "1900-01-01", "141.5", ""]]


def test_a_sign_that_a_workbook_cannot_hold_is_told():
    with pytest.raises(RefusedInputError, match="write CSV instead"):
        XlsxTableWriter().write(["name"], [{"name": "An\x07na"}])
