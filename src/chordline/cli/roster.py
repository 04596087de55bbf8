"""`chordline roster`: the club's gymnasts from a file, into a file, and on cards."""

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from typing import Annotated, Any

import typer

from chordline.adapters.printing.cards import CardOrder, print_cards
from chordline.adapters.tables.limits import MOST_BYTES
from chordline.adapters.tables.table_file import TableFileReader, writer_for
from chordline.application.club.names import name_key
from chordline.application.club.ports import Records, Tx
from chordline.application.club.records import Group
from chordline.application.club.views import GymnastRow
from chordline.application.roster.columns import COLUMNS
from chordline.application.roster.in_and_out import (
    ExportRoster,
    ImportRoster,
    PreviewRoster,
    fault_words,
)
from chordline.application.roster.match import all_gymnasts, groups_by_gymnast
from chordline.application.roster.preview import Effect, RosterLine, RosterPreview
from chordline.application.roster.table import RosterTable
from chordline.bootstrap import build_app
from chordline.cli.cards import Layout
from chordline.cli.console import print_json, print_table, remark
from chordline.cli.take_in import AUTHOR, DataOption
from chordline.errors import RefusedInputError, WrongUseError

SCHEMA = "chordline.roster/1"

_WOULD: dict[Effect, str] = {"new": "new", "changes": "changed", "same": "the same", "bad": "bad"}
_DID: dict[Effect, str] = {**_WOULD, "bad": "left out"}

app = typer.Typer(no_args_is_help=True, help="The club's gymnasts: from a file, into a file.")

InputFile = Annotated[Path, typer.Argument(metavar="FILE", help="CSV or XLSX.")]
GroupName = Annotated[str | None, typer.Option("--group", metavar="NAME", help="This group only.")]
MeasuredOn = Annotated[
    str | None,
    typer.Option(
        "--measured-on",
        metavar="DATE",
        help="Day of the sizes where a row does not say one; today by default.",
    ),
]


@contextmanager
def _club(data: Path | None) -> Iterator[tuple[Records, int]]:
    """Open the records; yield them and the club's id."""
    opened = build_app(data=data)
    try:
        yield opened.records, opened.club().id
    finally:
        opened.records.close()


@app.command("preview")
def preview(
    file: InputFile,
    measured_on: MeasuredOn = None,
    data: DataOption = None,
) -> None:
    """Show what importing a file would do; nothing is changed."""
    table = read_table(file)
    with _club(data) as (records, club_id):
        found = PreviewRoster(records)(
            club_id, table, today=date.today(), measured_on=_day(measured_on)
        )
    _show(found, _WOULD)


@app.command("import")
def import_(
    file: InputFile,
    skip_bad: Annotated[
        bool, typer.Option("--skip-bad", help="Leave bad rows out instead of refusing the file.")
    ] = False,
    measured_on: MeasuredOn = None,
    data: DataOption = None,
) -> None:
    """Take the gymnasts of a file into the club: all rows or, where one is bad, none."""
    table = read_table(file)
    with _club(data) as (records, club_id):
        outcome = ImportRoster(records)(
            club_id,
            table,
            skip_bad=skip_bad,
            token=None,
            today=date.today(),
            author=AUTHOR,
            measured_on=_day(measured_on),
        )
    _show(outcome.preview, _DID, only=("bad",))


@app.command("export")
def export(
    output: Annotated[Path, typer.Option("-o", "--output", metavar="FILE")],
    group: GroupName = None,
    data: DataOption = None,
) -> None:
    """Write the gymnasts into a .csv or .xlsx file that can be imported again."""
    writer = writer_for(output.name)
    with _club(data) as (records, club_id):
        with records.reading() as tx:
            group_id = _group_id(tx, club_id, group)
        rows = ExportRoster(records)(club_id, group_id)
    _write(output, writer.write(COLUMNS, rows))
    remark(f"{_gymnasts(len(rows))} in {output.name}. It holds children's data: keep it safe.")


@app.command("list")
def list_(
    group: GroupName = None,
    search: Annotated[
        str, typer.Option("--search", metavar="TEXT", help="Card, or beginnings of names.")
    ] = "",
    as_json: Annotated[bool, typer.Option("--json", help="One object a gymnast.")] = False,
    data: DataOption = None,
) -> None:
    """List the gymnasts who train, by name."""
    with _club(data) as (records, club_id), records.reading() as tx:
        group_id = _group_id(tx, club_id, group)
        rows = list(all_gymnasts(tx, club_id, text=search, group_id=group_id))
        groups = groups_by_gymnast(tx, club_id, tx.clubs.groups(club_id))
    hers = [groups.get(row.gymnast.id, ()) for row in rows]
    if as_json:
        for row, of_her in zip(rows, hers, strict=True):
            print_json(_record(row, of_her))
    elif rows:
        print_table(
            ("card", "name", "born", "groups", "last screened"),
            [_cells(row, of_her) for row, of_her in zip(rows, hers, strict=True)],
        )
    else:
        remark("nobody was found; `chordline roster import FILE` takes gymnasts in")


@app.command("cards")
def cards(
    output: Annotated[Path, typer.Option("-o", "--output", metavar="FILE.pdf")] = Path("cards.pdf"),
    group: GroupName = None,
    layout: Annotated[
        Layout,
        typer.Option(
            "--layout", help="stand: one a page for the floor; small: for wrist or board."
        ),
    ] = Layout.STAND,
    names: Annotated[
        bool, typer.Option("--names", help="Print the gymnasts' names on their cards.")
    ] = False,
    data: DataOption = None,
) -> None:
    """Print the card of everybody who has one."""
    with _club(data) as (records, club_id), records.reading() as tx:
        rows = list(all_gymnasts(tx, club_id, group_id=_group_id(tx, club_id, group)))
    holders = {row.gymnast.card: row.gymnast for row in rows if row.gymnast.card is not None}
    if not holders:
        raise RefusedInputError("nobody here has a card; write card numbers into the roster first")
    orders = [CardOrder(card, one.name if names else "") for card, one in sorted(holders.items())]
    _write(output, print_cards(orders, layout=layout.value))
    cards_made = "1 card" if len(orders) == 1 else f"{len(orders)} cards"
    remark(f"{cards_made} in {output.name}. Print at 100 % (actual size), not 'fit to page'.")
    if without := len(rows) - len(holders):
        remark(f"{_gymnasts(without)} without a card.")


def read_table(file: Path) -> RosterTable:
    """Return the table in a file; raise `RefusedInputError` where it cannot be read."""
    try:
        with file.open("rb") as opened:
            data = opened.read(MOST_BYTES + 1)
    except OSError as error:
        raise RefusedInputError(f"{file.name} cannot be read ({error.strerror})") from None
    try:
        return TableFileReader().read(data)
    except RefusedInputError as error:
        raise RefusedInputError(f"{file.name}: {error}") from error


def _write(output: Path, data: bytes) -> None:
    try:
        output.write_bytes(data)
    except OSError as error:
        raise RefusedInputError(f"{output.name} cannot be written ({error.strerror})") from None


def _day(said: str | None) -> date | None:
    if said is None:
        return None
    try:
        day = date.fromisoformat(said)
    except ValueError:
        raise WrongUseError(f"'{said}' is no date; write it like 2025-09-01") from None
    if day > date.today():
        raise WrongUseError(f"{said} is still to come; nobody was measured then")
    return day


def _group_id(tx: Tx, club_id: int, name: str | None) -> int | None:
    if name is None:
        return None
    groups = tx.clubs.groups(club_id)
    found = next((group for group in groups if name_key(group.name) == name_key(name)), None)
    if found is None:
        known = ", ".join(group.name for group in groups) or "none yet"
        raise WrongUseError(f"there is no group '{name}'; the groups are: {known}")
    return found.id


def _show(found: RosterPreview, words: Mapping[Effect, str], only: Sequence[Effect] = ()) -> None:
    for note in found.notes:
        remark(note)
    if found.unknown_columns:
        remark(f"not read, because unknown here: {', '.join(found.unknown_columns)}")
    rows = [
        (str(line.line), line.cells.get("name", "").strip(), words[line.effect], _details(line))
        for line in found.lines
        if not only or line.effect in only
    ]
    if rows:
        print_table(("line", "name", "what", "details"), rows)
    if found.new_groups:
        remark(f"new groups: {', '.join(found.new_groups)}")
    counts = found.counts
    typer.echo(", ".join(f"{counts[effect]} {word}" for effect, word in words.items()))


def _details(line: RosterLine) -> str:
    changes = [
        f"{change.column}: {change.before or 'nothing'} → {change.after}" for change in line.changes
    ]
    parts = [*changes, fault_words(line), line.remark]
    return "; ".join(part for part in parts if part)


def _record(row: GymnastRow, groups: Sequence[Group]) -> dict[str, Any]:
    one = row.gymnast
    return {
        "schema": SCHEMA,
        "id": one.id,
        "card": one.card,
        "name": one.name,
        "birth_date": _iso(one.birth_date) or None,
        "groups": [group.name for group in groups],
        "consent": {
            "measure": one.consent.measure,
            "keep_pictures": one.consent.keep_pictures,
            "show_to_squad": one.consent.show_to_squad,
            "until": _iso(one.consent.until) or None,
        },
        "last_screened": _iso(row.last_screened_on) or None,
    }


def _cells(row: GymnastRow, groups: Sequence[Group]) -> tuple[str, ...]:
    one = row.gymnast
    return (
        "" if one.card is None else str(one.card),
        one.name,
        _iso(one.birth_date),
        ", ".join(group.name for group in groups),
        _iso(row.last_screened_on),
    )


def _iso(day: date | None) -> str:
    return "" if day is None else day.isoformat()


def _gymnasts(number: int) -> str:
    return "1 gymnast" if number == 1 else f"{number} gymnasts"
