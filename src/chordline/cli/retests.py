"""`chordline retests`: from when on another screen tells something, and why."""

from datetime import UTC, date, datetime
from pathlib import Path
from typing import Annotated

import typer

from chordline.application.progress.progress_json import retest_to_json
from chordline.application.progress.progress_words import due_in_words, why_in_words
from chordline.bootstrap import build_app
from chordline.cli.console import print_json, remark
from chordline.cli.group import find_named
from chordline.cli.take_in import DataOption


def retests(
    group: Annotated[
        str | None, typer.Option("--group", metavar="NAME", help="This group only.")
    ] = None,
    calendar: Annotated[
        Path | None,
        typer.Option("--calendar", metavar="FILE.ics", help="Write the days for a calendar."),
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="One object a gymnast.")] = False,
    data: DataOption = None,
) -> None:
    """List when each gymnast is worth testing again, the first day first.

    The calendar says how many, and names nobody.
    """
    app = build_app(data=data)
    try:
        club, today = app.club(), date.today()
        with app.records.reading() as tx:
            found = None if group is None else find_named(tx, club.id, group)
        squad = app.squad_progress.everybody(
            club.id, today=today, group_id=None if found is None else found.id
        )
        numbers = app.her_progress.numbers
        for one in squad.retests:
            if as_json:
                print_json(retest_to_json(one, numbers, day=today))
            else:
                typer.echo(f"{one.gymnast.name}: {due_in_words(one, today)}")
                typer.echo(f"    {why_in_words(one, app.catalogue)}")
        never = [one.gymnast.name for one in squad.lines if not one.screened]
        if never and not as_json:
            remark(f"Not screened yet: {', '.join(never)}")
        if not squad.lines:
            remark("nobody is here yet; 'chordline roster import FILE' takes gymnasts in")
        if calendar is not None:
            named = club.name if found is None else found.name
            written_at = datetime(today.year, today.month, today.day, tzinfo=UTC)
            content = app.retest_calendar()(
                named, squad.retests, today=today, written_at=written_at
            )
            calendar.write_bytes(content)
            remark(f"Wrote {calendar}.")
    finally:
        app.records.close()
