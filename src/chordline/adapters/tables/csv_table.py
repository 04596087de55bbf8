"""CSV files: comma, semicolon or tab."""

import csv
import io
import re
from collections.abc import Iterator, Mapping, Sequence
from datetime import date

from chordline.adapters.tables.formula_guard import guard, unguard
from chordline.adapters.tables.limits import RawRow, check_size, table_of
from chordline.adapters.tables.text_encoding import decode_text
from chordline.application.roster.table import Cell, RosterTable
from chordline.application.roster.values import write_number
from chordline.errors import RefusedInputError

_SEPARATORS = {",": "comma", ";": "semicolon", "\t": "tab"}
_QUOTED = re.compile(r'"(?:[^"]|"")*"')
#: Some spreadsheets write the separator on a line of its own before the header.
_SAID = re.compile(r"sep=([,;\t])\r?(?:\n|$)", re.IGNORECASE)


class CsvTableReader:
    """Implements `TableReader`."""

    def read(self, data: bytes) -> RosterTable:
        """Return the table of a CSV file."""
        check_size(data)
        text, notes = decode_text(data)
        said = _SAID.match(text)
        separator = said[1] if said else _find_separator(text)
        rows = _rows(text[said.end() :] if said else text, separator, lines_before=bool(said))
        return table_of(rows, notes, cells_may_end_early=False)


def _find_separator(text: str) -> str:
    header = next((line for line in text.splitlines() if line.strip(' \t,;"')), "")
    bare = _QUOTED.sub("", header)
    counts = {separator: bare.count(separator) for separator in _SEPARATORS}
    most = max(counts.values())
    found = [separator for separator, count in counts.items() if count == most]
    if most and len(found) > 1:
        names = " or ".join(_SEPARATORS[one] for one in found)
        raise RefusedInputError(
            f"it cannot be told whether {names} stands between the columns; "
            "save the file with one of them only"
        )
    return found[0]


def _rows(text: str, separator: str, *, lines_before: int) -> Iterator[RawRow]:
    # Strict: after a quote that is not closed, nothing stands where it seems to stand.
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    while True:
        line = lines_before + reader.line_num + 1
        try:
            cells = next(reader)
        except StopIteration:
            return
        except csv.Error:
            raise RefusedInputError(
                f"the double quotes from line {line} on do not fit together; close each one, and "
                "write a double quote within a text twice"
            ) from None
        yield line, [unguard(cell) for cell in cells], ()


class CsvTableWriter:
    """Implements `TableWriter`: UTF-8 with its mark, comma, as spreadsheets open it."""

    def write(self, columns: Sequence[str], rows: Sequence[Mapping[str, Cell]]) -> bytes:
        """Return a CSV file in which no cell is a formula."""
        text = io.StringIO(newline="")
        writer = csv.writer(text, quoting=csv.QUOTE_MINIMAL)
        writer.writerow(columns)
        for row in rows:
            writer.writerow([_written(row[column]) for column in columns])
        return text.getvalue().encode("utf-8-sig")


def _written(cell: Cell) -> str:
    if isinstance(cell, float):
        return write_number(cell)
    if isinstance(cell, date):
        return cell.isoformat()
    return "" if cell is None else guard(str(cell))
