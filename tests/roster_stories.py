"""Rosters as several tests need them."""

from collections.abc import Sequence
from datetime import date

from chordline.adapters.tables.csv_table import CsvTableReader
from chordline.application.club.ports import Records
from chordline.application.club.records import NewGymnast
from chordline.application.roster.in_and_out import (
    ExportRoster,
    ImportRoster,
    PreviewRoster,
    RosterOutcome,
)
from chordline.application.roster.preview import RosterLine, RosterPreview
from chordline.application.roster.table import RosterRow, RosterTable

TODAY = date(2025, 9, 10)


def table(*lines: str) -> RosterTable:
    """Return a table from lines of comma-separated text, the first one the header."""
    return CsvTableReader().read("\n".join(lines).encode())


def preview(records: Records, club_id: int, *lines: str) -> RosterPreview:
    return PreviewRoster(records)(club_id, table(*lines), today=TODAY)


def bring_in(
    records: Records, club_id: int, *lines: str, skip_bad: bool = False, token: str | None = None
) -> RosterOutcome:
    return ImportRoster(records)(
        club_id, table(*lines), skip_bad=skip_bad, token=token, today=TODAY, author="Kim"
    )


def effects(found: RosterPreview) -> list[str]:
    return [line.effect for line in found.lines]


def faults(line: RosterLine, column: str) -> str:
    return "; ".join(said for name, said in line.faults if name == column)


def rows(columns: Sequence[str], *cells: Sequence[str]) -> RosterTable:
    """Return a table as an adapter delivers it."""
    found = (
        RosterRow(line, dict(zip(columns, row, strict=True)))
        for line, row in enumerate(cells, start=2)
    )
    return RosterTable(tuple(columns), tuple(found))


def everything(records: Records, club_id: int) -> list[dict[str, object]]:
    return [dict(row) for row in ExportRoster(records)(club_id)]


def put(records: Records, club_id: int, *new: NewGymnast) -> list[int]:
    with records.transaction() as tx:
        return [tx.gymnasts.add(club_id, one).id for one in new]
