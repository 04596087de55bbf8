"""`chordline progress`: what really changed between screens, and what would decide the rest."""

from collections.abc import Iterator, Sequence
from datetime import date
from typing import Annotated

import typer

from chordline.application.days import day_in_words
from chordline.application.progress.progress_json import progress_to_json
from chordline.application.progress.progress_words import (
    NOT_WHY,
    decider_in_words,
    done_in_words,
    due_in_words,
    leaning_in_words,
    measured_in_words,
    note_in_words,
    now_in_words,
    threshold_in_words,
    told_in_words,
    why_in_words,
)
from chordline.application.progress.told import Progress, Since, Standing
from chordline.application.roster.match import all_gymnasts
from chordline.bootstrap import App, build_app
from chordline.cli.console import print_json, remark
from chordline.cli.group import find_named
from chordline.cli.pick import pick_gymnast
from chordline.cli.take_in import DataOption
from chordline.core.progress.change_measured import MeasuredChange
from chordline.errors import WrongUseError


def progress(
    gymnast: Annotated[
        str | None, typer.Argument(metavar="[GYMNAST]", help="Card number or name.")
    ] = None,
    group: Annotated[
        str | None, typer.Option("--group", metavar="NAME", help="This group only.")
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="One object a gymnast.")] = False,
    data: DataOption = None,
) -> None:
    """Tell what changed since the last and the first screen, and whether the change is real.

    Without GYMNAST: everybody by name, or a group, with the work done beside it. Nobody is ranked.
    """
    if gymnast is not None and group is not None:
        raise WrongUseError("name a GYMNAST or a --group, not both")
    app = build_app(data=data)
    try:
        club, today = app.club(), date.today()
        with app.records.reading() as tx:
            if gymnast is not None:
                ids = [pick_gymnast(tx, club.id, gymnast).id]
            else:
                group_id = None if group is None else find_named(tx, club.id, group).id
                rows = all_gymnasts(tx, club.id, group_id=group_id)
                ids = [row.gymnast.id for row in rows]
        use = app.her_progress
        for gymnast_id in ids:
            told = use(gymnast_id, today=today)
            if as_json:
                print_json(progress_to_json(told, use.numbers))
            else:
                lines = _lines(told, app) if gymnast is not None else _brief_lines(told, app)
                typer.echo("\n".join(lines))
        if not ids:
            remark("nobody is here yet; 'chordline roster import FILE' takes gymnasts in")
        elif not as_json:
            remark(f"{threshold_in_words(use.numbers.changes.sure)} {NOT_WHY}")
    finally:
        app.records.close()


def _head(told: Progress) -> str:
    card = "" if told.gymnast.card is None else f" (card {told.gymnast.card})"
    return f"{told.gymnast.name}{card}"


def _lines(told: Progress, app: App) -> list[str]:
    catalogue = app.catalogue
    lines = [_head(told)]
    if note := note_in_words(told):
        lines.append(f"  {note}")
    for one in told.capacities:
        lines.append(f"  {one.label} now: {now_in_words(one, catalogue)}")
        changes = dict.fromkeys(
            since for since in (one.since_last, one.since_first) if since is not None
        )
        for since in changes:
            lines.append(f"      {told_in_words(one.label, since)}")
            more = [leaning_in_words(since), decider_in_words(since, catalogue)]
            if since.done_min >= 0.5:
                more.append(f"Work on it between: {since.done_min:.0f} min.")
            if any(more):
                lines.append(f"          {' '.join(filter(None, more))}")
    for day, changes_of in _tables(told):
        beyond = [one for one in measured_in_words(changes_of, catalogue) if one.beyond]
        lines.append(f"  Measures beyond error since {day}: {len(beyond)} of {len(changes_of)}")
        lines += [
            f"      {one.test}, {one.label.lower()}: {one.before} to {one.after} "
            f"({one.change}; beyond error from {one.detectable})"
            for one in beyond
        ]
    return lines + _ahead(told, app)


def _tables(told: Progress) -> Iterator[tuple[str, Sequence[MeasuredChange]]]:
    screens = told.screens
    if len(screens) > 1:
        yield day_in_words(screens[-2].day), told.measured_last
    if len(screens) > 2:
        yield day_in_words(screens[0].day), told.measured_first


def _ahead(told: Progress, app: App) -> list[str]:
    lines = []
    if done := done_in_words(told.done_min, app.catalogue):
        lines.append(f"  Done since the latest screen: {done}")
    if told.retest is not None:
        when = due_in_words(told.retest, told.day)
        lines.append(f"  Next screen {when}: {why_in_words(told.retest, app.catalogue)}")
    return lines


def _brief_lines(told: Progress, app: App) -> list[str]:
    lines = [_head(told)]
    if note := note_in_words(told):
        lines.append(f"  {note}")
    real = [
        (one.label, one.since_last)
        for one in told.capacities
        if one.since_last is not None and _is_real(one.since_last)
    ]
    for label, since in real:
        done = f" ({since.done_min:.0f} min of work between)" if since.done_min >= 0.5 else ""
        lines.append(f"  {told_in_words(label, since)}{done}")
    if len(told.screens) > 1 and not real:
        lines.append(f"  No change is certain since {day_in_words(told.screens[-2].day)}.")
    return lines + _ahead(told, app)


def _is_real(since: Since) -> bool:
    return since.standing in (Standing.BETTER, Standing.WORSE)
