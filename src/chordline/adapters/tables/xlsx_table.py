"""XLSX files: the first sheet, its stored values."""

import io
import warnings
import zipfile
from collections.abc import Iterator, Mapping, Sequence
from datetime import date, datetime, time
from itertools import zip_longest
from typing import Any, Final

from openpyxl import Workbook, load_workbook
from openpyxl.utils import get_column_letter
from openpyxl.utils.exceptions import IllegalCharacterError

from chordline.adapters.tables.limits import MOST_ROWS, RawRow, check_size, table_of
from chordline.application.roster.table import Cell, RosterTable
from chordline.application.roster.values import write_number
from chordline.errors import RefusedInputError

#: What the parts of a workbook may take once unpacked; a file made to fill the memory takes more.
MOST_UNPACKED_BYTES: Final = 50_000_000
_MOST_PARTS = 1_000
#: Signs that open or close something, in all parts; what is parsed takes time for each.
_MOST_TAGS = 2_000_000
#: Cells of a sheet, empty ones between others included.
_MOST_CELLS = 4_000_000
#: A spreadsheet's last row.
_LAST_ROW = 1_048_576
_DAMAGED = "the file is damaged; open it in a spreadsheet and save it anew as XLSX"
#: Spreadsheets count days from here; earlier ones are written as text.
_FIRST_DAY = date(1900, 3, 1)


class XlsxTableReader:
    """Implements `TableReader`."""

    def read(self, data: bytes) -> RosterTable:
        """Return the table on the first sheet of a workbook."""
        check_size(data)
        # openpyxl raises whatever a damaged file makes it stumble over, and warns of what it
        # leaves aside, which is never a cell's value.
        try:
            with warnings.catch_warnings():
                warnings.simplefilter("ignore")
                _check_unpacked(data)
                return _read(data)
        except RefusedInputError:
            raise
        except Exception as error:
            raise RefusedInputError(_DAMAGED) from error


def _check_unpacked(data: bytes) -> None:
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        parts = archive.infolist()
        size = sum(part.file_size for part in parts)
        if size > MOST_UNPACKED_BYTES or len(parts) > _MOST_PARTS:
            raise RefusedInputError(
                f"the file unpacks to {size / 1e6:.0f} MB in {len(parts)} parts, too much for a "
                "list of gymnasts; copy the list into a new file"
            )
        tags = 0
        for part in parts:
            content = archive.read(part)
            # A document type may define words that grow without end; no spreadsheet writes one.
            # In parts of any name: a workbook says by itself which of them it takes for a sheet.
            if _has_doctype(content):
                raise RefusedInputError(_DAMAGED)
            tags += content.count(b"<")
        if tags > _MOST_TAGS:
            raise RefusedInputError(
                f"the sheets have too much in them for {MOST_ROWS} rows; copy the list into a new "
                "file"
            )


def _has_doctype(part: bytes) -> bool:
    return any("<!DOCTYPE".encode(code) in part for code in ("ascii", "utf-16-le", "utf-16-be"))


def _read(data: bytes) -> RosterTable:
    stored = load_workbook(io.BytesIO(data), read_only=True, data_only=True)
    formulas = load_workbook(io.BytesIO(data), read_only=True, data_only=False)
    try:
        if not stored.worksheets:
            raise RefusedInputError("the file has no sheet with cells; choose another one")
        first, *others = stored.worksheets
        notes = []
        if others:
            names = ", ".join(f"'{sheet.title}'" for sheet in others)
            notes.append(f"the first sheet, '{first.title}', was read; not read: {names}")
        rows = _rows(first, formulas.worksheets[0])
        return table_of(rows, notes, cells_may_end_early=True)
    finally:
        stored.close()
        formulas.close()


def _rows(stored: Any, formulas: Any) -> Iterator[RawRow]:
    # The size that a file says it has may be wrong, and cells beyond it would be lost.
    stored.reset_dimensions()
    formulas.reset_dimensions()
    seen = 0
    width = 0
    pairs = zip_longest(
        stored.iter_rows(max_row=_LAST_ROW), formulas.iter_rows(max_row=_LAST_ROW), fillvalue=()
    )
    for line, (values, written) in enumerate(pairs, start=1):
        seen += len(values)
        if seen > _MOST_CELLS:
            raise RefusedInputError(
                f"the sheet is too wide for {MOST_ROWS} rows; copy the list into a new file"
            )
        cells, faults = _row(values, written)
        width = width or len(cells)
        if len(cells) > width:
            faults.append(
                (
                    width,
                    f"cell {get_column_letter(len(cells))}{line} stands beyond the last column "
                    "that has a name; name the column or empty the cell",
                )
            )
        yield line, cells[:width], faults


def _row(values: Sequence[Any], written: Sequence[Any]) -> tuple[list[str], list[tuple[int, str]]]:
    cells: list[str] = []
    faults: list[tuple[int, str]] = []
    for at, (cell, formula) in enumerate(zip(values, written, strict=True)):
        text = ""
        # A formula whose result is the empty text has the type of a text.
        if cell.value is None and formula.data_type == "f" and cell.data_type != "str":
            faults.append((at, "holds a formula without a result; write the value itself"))
        elif cell.data_type == "e":
            faults.append((at, f"holds the error {cell.value}; write the value itself"))
        else:
            text = _text(cell.value)
        cells.append(text)
    while cells and not cells[-1] and not any(at == len(cells) - 1 for at, _ in faults):
        cells.pop()
    return cells, faults


def _text(value: Any) -> str:
    """Return a cell's value as a CSV file would have it."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return write_number(value)
    if isinstance(value, datetime) and value.time() == time():
        return value.date().isoformat()
    return value.isoformat() if isinstance(value, date) else str(value)


class XlsxTableWriter:
    """Implements `TableWriter`: days are days, numbers are numbers, and no text is a formula."""

    def write(self, columns: Sequence[str], rows: Sequence[Mapping[str, Cell]]) -> bytes:
        """Return a workbook of one sheet.

        Raises
        ------
        RefusedInputError
            Where a text holds a sign that such a file cannot hold.
        """
        book = Workbook()
        sheet: Any = book.active
        sheet.title = "roster"
        sheet.freeze_panes = "A2"
        sheet.append(list(columns))
        for at, row in enumerate(rows, start=2):
            for number, column in enumerate(columns, start=1):
                _fill(sheet.cell(at, number), column, row[column])
        file = io.BytesIO()
        book.save(file)
        return file.getvalue()


def _fill(cell: Any, column: str, value: Cell) -> None:
    if isinstance(value, date) and value < _FIRST_DAY:
        value = value.isoformat()
    try:
        cell.value = value
    except IllegalCharacterError:
        raise RefusedInputError(
            f"'{value}' in {column} holds a sign that XLSX cannot hold; write CSV instead"
        ) from None
    if isinstance(value, date):
        cell.number_format = "yyyy-mm-dd"
    elif isinstance(value, str):
        # A text stays one, whatever it begins with; the quote keeps it so when it is edited.
        cell.data_type = "s"
        cell.quotePrefix = True
