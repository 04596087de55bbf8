"""Workbooks that are small and would be large once they are read."""

import io
import zipfile

import pytest
from openpyxl import Workbook

from chordline.adapters.tables.table_file import TableFileReader
from chordline.errors import RefusedInputError

SHEET = "xl/worksheets/sheet1.xml"
RELATIONS = "xl/_rels/workbook.xml.rels"


def workbook(**bodies):
    book, out, plain = Workbook(), io.BytesIO(), io.BytesIO()
    book.active.append(["name"])
    book.active.append(["Ada"])
    book.save(plain)
    with zipfile.ZipFile(plain) as old, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        for one in old.infolist():
            body = old.read(one)
            if one.filename == SHEET:
                new.writestr(bodies.get("called", SHEET), bodies.get("sheet", body))
            elif one.filename == RELATIONS:
                called = bodies.get("called", SHEET).encode()
                new.writestr(RELATIONS, body.replace(SHEET.encode(), called))
            else:
                new.writestr(one.filename, body)
    return out.getvalue()


def test_the_plain_workbook_is_read():
    assert TableFileReader().read(workbook()).rows[0].cells == {"name": "Ada"}


@pytest.mark.parametrize(
    ("bodies", "said"),
    [
        pytest.param({"sheet": b" " * 60_000_000}, "unpacks to 60 MB", id="zip"),
        pytest.param({"sheet": b"<x>" * 2_100_000}, "too much in them", id="deep"),
        pytest.param({"sheet": b"<row></row>" * 1_100_000}, "too much in them", id="rows"),
        pytest.param(
            {"sheet": b"<!DOCTYPE x [<!ENTITY a 'b'>]><x/>", "called": "xl/worksheets/s.bin"},
            "is damaged",
            id="entities-under-another-name",
        ),
    ],
)
def test_a_bomb_is_refused_before_it_is_parsed(bodies, said):
    with pytest.raises(RefusedInputError, match=said):
        TableFileReader().read(workbook(**bodies))
