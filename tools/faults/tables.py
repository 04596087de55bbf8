"""Damaged rosters, CSV and XLSX, and archives made to fill the memory."""

import io
import zipfile
from collections.abc import Iterator

from chordline.adapters.tables.table_file import TableFileReader
from faults import samples
from faults.attempt import attempt_all
from faults.mutate import damage_text, damage_zip, mutated
from faults.row import Budget, Row

CSV_CASES, XLSX_CASES = 5_000, 1_500
#: They take seconds each; a short run leaves them out.
BOMBS_FROM = 0.1


def run(budget: Budget) -> Row:
    """Try them."""
    kinds = samples.tables()

    def inputs() -> Iterator[bytes]:
        if budget.share >= BOMBS_FROM:
            yield from bombs(kinds["XLSX"][0])
        yield from mutated(kinds["CSV"], budget.seed, budget.cases(CSV_CASES), damage_text)
        yield from mutated(kinds["XLSX"], budget.seed, budget.cases(XLSX_CASES), damage_zip)

    return attempt_all("tables", budget, inputs(), TableFileReader().read)


def bombs(workbook: bytes) -> Iterator[bytes]:
    """Yield files that are small, and large once they are unpacked, expanded or read."""
    sheet = "xl/worksheets/sheet1.xml"
    yield _with(workbook, sheet, b" " * 400_000_000)
    lol = b"<!DOCTYPE x [<!ENTITY a 'aaaaaaaaaa'>" + b"".join(
        b"<!ENTITY %c '%s'>" % (98 + n, b"&%c;" % (97 + n) * 10) for n in range(9)
    )
    yield _with(workbook, sheet, lol + b"]><x>&j;</x>")
    yield _with(workbook, sheet, b"<x>" * 3_000_000)
    row = b'<row r="1048576"><c r="XFD1048576"><v>1</v></c></row>'
    head = (
        b'<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData>'
    )
    tail = b"</sheetData></worksheet>"
    yield _with(workbook, sheet, head + row * 30_000 + tail)
    yield _with(workbook, sheet, head + b"<row><c><v>1</v></c></row>" * 900_000 + tail)
    yield b"name,card\n" + b'"' + b"a" * 4_000_000
    yield b"," * 4_900_000
    yield b"a\n" + b"1\n" * 2_400_000
    yield b"a,b\n" + b'"x\ny"' * 700_000


def _with(workbook: bytes, name: str, body: bytes) -> bytes:
    out = io.BytesIO()
    with (
        zipfile.ZipFile(io.BytesIO(workbook)) as old,
        zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new,
    ):
        for one in old.infolist():
            new.writestr(one.filename, body if one.filename == name else old.read(one))
    return out.getvalue()
