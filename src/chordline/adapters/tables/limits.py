"""How large a table may be, and what makes rows a table, in both kinds of file."""

from collections.abc import Iterable, Sequence
from typing import Final

from chordline.application.roster.table import Fault, RosterRow, RosterTable
from chordline.errors import RefusedInputError

#: Far beyond any club, small enough to be read at once.
MOST_BYTES: Final = 5_000_000
MOST_ROWS: Final = 20_000
MOST_COLUMNS: Final = 200

#: The line on which a row begins, its cells, and what was wrong with some of them by position.
RawRow = tuple[int, Sequence[str], Sequence[tuple[int, str]]]


def check_size(data: bytes) -> None:
    """Raise `RefusedInputError` for a file that is empty or too large."""
    if not data.strip():
        raise RefusedInputError("the file is empty; choose the file with the gymnasts")
    if len(data) > MOST_BYTES:
        raise RefusedInputError(
            f"the file has {len(data) / 1e6:.1f} MB, and {MOST_BYTES / 1e6:g} MB are the most; "
            "save the list of gymnasts alone"
        )


def table_of(
    rows: Iterable[RawRow], notes: Sequence[str], *, cells_may_end_early: bool
) -> RosterTable:
    """Return the table whose first row that is not empty is the header.

    A row with more cells than the header is a fault even where these are empty: a decimal comma
    that is read as a separator shifts the row in just this way.

    Parameters
    ----------
    rows : iterable of RawRow
    notes : sequence of str
    cells_may_end_early : bool
        Whether a row leaves out empty cells at its end, as spreadsheets do.

    Raises
    ------
    RefusedInputError
        Where there is no header, no row, too much of them, or one column twice.
    """
    columns: list[str] = []
    found: list[RawRow] = []
    for line, cells, faults in rows:
        if not faults and not any(cell.strip() for cell in cells):
            continue
        if not columns:
            columns = _header(cells, faults)
            continue
        missing = len(columns) - len(cells) if cells_may_end_early else 0
        found.append((line, [*cells, *[""] * missing], faults))
        if len(found) > MOST_ROWS:
            raise RefusedInputError(
                f"the file has more than {MOST_ROWS} rows; save the list of gymnasts alone"
            )
    if not columns:
        raise RefusedInputError("the file is empty; choose the file with the gymnasts")
    if not found:
        raise RefusedInputError(
            "the file has one line only; write the columns' names there and a gymnast on each "
            "line below it"
        )
    unnamed = {
        at
        for at, column in enumerate(columns)
        if not column and not any(_has(at, cells, faults) for _, cells, faults in found)
    }
    names = [column or f"column {at}" for at, column in enumerate(columns, start=1)]
    kept = [at for at in range(len(columns)) if at not in unnamed]
    return RosterTable(
        tuple(names[at] for at in kept),
        tuple(_row(names, kept, line, cells, faults) for line, cells, faults in found),
        tuple(notes),
    )


def _has(at: int, cells: Sequence[str], faults: Sequence[tuple[int, str]]) -> bool:
    return bool(cells[at : at + 1] and cells[at].strip()) or any(at == one for one, _ in faults)


def _header(cells: Sequence[str], faults: Sequence[tuple[int, str]]) -> list[str]:
    columns = [cell.strip() for cell in cells]
    if faults:
        raise RefusedInputError(f"the columns' names cannot be read: one {faults[0][1]}")
    if len(columns) > MOST_COLUMNS:
        raise RefusedInputError(
            f"the file has more than {MOST_COLUMNS} columns; save the list of gymnasts alone"
        )
    named = [column for column in columns if column]
    twice = next((name for name in named if named.count(name) > 1), None)
    if twice is not None:
        raise RefusedInputError(f"two columns are called '{twice}'; leave one of them out")
    return columns


def _row(
    names: Sequence[str],
    kept: Sequence[int],
    line: int,
    cells: Sequence[str],
    faults: Sequence[tuple[int, str]],
) -> RosterRow:
    told: list[Fault] = [(names[at] if at < len(names) else "", said) for at, said in faults]
    if len(cells) == len(names):
        return RosterRow(line, {names[at]: cells[at] for at in kept}, tuple(told))
    told.append(
        (
            "",
            f"has {_count(len(cells), 'cell')}, and the first line names "
            f"{_count(len(names), 'column')}; leave no cell out, and put a text that holds the "
            "separator, such as 141,5, into double quotes",
        )
    )
    return RosterRow(line, {}, tuple(told))


def _count(number: int, word: str) -> str:
    return f"{number} {word}" if number == 1 else f"{number} {word}s"
