"""`chordline trail`: who saw and changed what."""

from pathlib import Path
from typing import Annotated

import typer

from chordline.application.accounts.records import TrailQuery, TrailRow
from chordline.bootstrap import build_app
from chordline.cli.console import print_json, print_table, remark

_A_PAGE = 500


def trail(
    gymnast: Annotated[
        int | None, typer.Option("--gymnast", metavar="ID", min=1, help="Only of this gymnast.")
    ] = None,
    who: Annotated[str, typer.Option("--who", metavar="NAME", help="Only by this account.")] = "",
    limit: Annotated[int, typer.Option("--limit", min=1, help="So many lines, the latest.")] = 100,
    json: Annotated[bool, typer.Option("--json", help="One object a line.")] = False,
    data: Annotated[
        Path | None,
        typer.Option("--data", metavar="DIR", help="Folder of the club's records and pictures."),
    ] = None,
) -> None:
    """Tell who saw, changed, took out and erased what, the latest first."""
    chordline = build_app(data=data)
    club_id = chordline.club().id
    rows: list[TrailRow] = []
    with chordline.records.reading() as tx:
        while len(rows) < limit:
            before = rows[-1].id if rows else None
            size = min(_A_PAGE, limit - len(rows))
            found = tx.trail.page(TrailQuery(club_id, gymnast, who, "", before, size))
            rows.extend(found)
            if len(found) < size:
                break
    if json:
        for row in rows:
            print_json(_record(row))
        return
    if not rows:
        remark("Nothing yet.")
        return
    told = [
        (
            f"{row.entry.at.astimezone():%Y-%m-%d %H:%M}",
            row.entry.who,
            f"{row.entry.what} {row.entry.about}".strip(),
            _whom(row),
        )
        for row in rows
    ]
    print_table(("when", "who", "what", "of whom"), told)


def _whom(row: TrailRow) -> str:
    if row.entry.gymnast_id is None:
        return ""
    return row.gymnast or f"number {row.entry.gymnast_id}, erased"


def _record(row: TrailRow) -> dict[str, object]:
    return {
        "schema": "chordline.trail/1",
        "line": row.id,
        "at": row.entry.at.isoformat(),
        "who": row.entry.who,
        "account": row.entry.account_id,
        "what": row.entry.what,
        "about": row.entry.about,
        "gymnast": row.entry.gymnast_id,
        "device": row.entry.device,
    }
