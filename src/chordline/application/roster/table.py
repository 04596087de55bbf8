"""A roster as a table: what adapters deliver from a file and what they write to one."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Protocol

#: A column and a sentence that says what is wrong there and what to do; column "" = the whole row.
Fault = tuple[str, str]
#: A cell to be written; None = empty.
Cell = str | int | float | date | None


@dataclass(frozen=True)
class RosterRow:
    """One row of a file.

    Attributes
    ----------
    line : int
        The line of the file on which it begins, from 1.
    cells : mapping
        Column, as the file spells it, to the text in it; a date cell of a spreadsheet comes as
        ``2016-04-03``, a number with a decimal point.
    faults : tuple of Fault
        What was wrong with the row before anybody looked into its cells.
    """

    line: int
    cells: Mapping[str, str]
    faults: tuple[Fault, ...] = ()


@dataclass(frozen=True)
class RosterTable:
    """A file as it was read, nothing in it judged yet.

    Attributes
    ----------
    columns : tuple of str
        As the file spells them, in its order.
    rows : tuple of RosterRow
        In the order of the file, without empty ones.
    notes : tuple of str
        Sentences on how the file was read, where that could have been wrong.
    """

    columns: tuple[str, ...]
    rows: tuple[RosterRow, ...]
    notes: tuple[str, ...] = ()


class TableReader(Protocol):
    """Reads a file of a kind that its content, not its name, tells."""

    def read(self, data: bytes) -> RosterTable:
        """Return the table; raise `RefusedInputError` where there is none that can be read."""
        ...


class TableWriter(Protocol):
    """Writes a file that its `TableReader` reads back cell by cell."""

    def write(self, columns: Sequence[str], rows: Sequence[Mapping[str, Cell]]) -> bytes:
        """Return the file's bytes; the same rows give the same cells."""
        ...
