"""`chordline tonight`: a group's session, station by station."""

from datetime import date
from typing import Annotated, Any

import typer

from chordline.application.days import day_in_words
from chordline.application.training.planned import read_evening
from chordline.application.training.tonight import Evening
from chordline.bootstrap import App
from chordline.cli.console import print_json, remark
from chordline.cli.group import (
    GroupArgument,
    member_called,
    open_group,
    read_date,
)
from chordline.cli.plan_words import listed, print_rounds, title_of
from chordline.cli.take_in import AUTHOR, DataOption
from chordline.errors import WrongUseError

SCHEMA = "chordline.session/1"


def tonight(
    group: GroupArgument,
    on: Annotated[
        str | None, typer.Option("--on", metavar="DATE", help="Another day than today.")
    ] = None,
    away: Annotated[
        list[str] | None,
        typer.Option("--away", metavar="GYMNAST", help="She did not come. Once for each."),
    ] = None,
    here: Annotated[
        list[str] | None,
        typer.Option("--here", metavar="GYMNAST", help="She came after all. Once for each."),
    ] = None,
    begun: Annotated[
        int | None,
        typer.Option("--begun", help="How many rounds have begun: they stay as they are."),
    ] = None,
    done: Annotated[
        bool, typer.Option("--done", help="It is over: who was there did what stands here.")
    ] = False,
    as_json: Annotated[bool, typer.Option("--json", help="One JSON object.")] = False,
    data: DataOption = None,
) -> None:
    """Show who works where in a session; deal it anew for those who came; keep what was done."""
    day = date.today() if on is None else read_date(on, "--on")
    with open_group(data, group) as (app, found):
        use_case = app.tonight()
        evening = use_case.open(found.id, day)
        came = _said(evening, away or [], here or [])
        if came or begun is not None:
            evening = use_case.mark(evening.session.id, came, begun=begun)
        if done:
            evening = use_case.end(
                evening.session.id, version=evening.session.version, author=AUTHOR
            )
        if as_json:
            print_json(_record(evening))
        else:
            _tell(app, evening)


def _said(evening: Evening, away: list[str], here: list[str]) -> dict[int, bool]:
    def ids(names: list[str]) -> set[int]:
        return {member_called(one, evening.members, evening.group).id for one in names}

    gone, came = ids(away), ids(here)
    if gone & came:
        raise WrongUseError("the same gymnast stands under --away and --here")
    return {**dict.fromkeys(gone, False), **dict.fromkeys(came, True)}


def _tell(app: App, evening: Evening) -> None:
    session, record = evening.session, evening.session.record
    names = {one.id: one.gymnast.name for one in evening.members}
    begins = f", {record['starts_at']}" if record.get("starts_at") else ""
    typer.echo(f"{evening.group.name}, {day_in_words(session.held_on)}{begins}")
    if evening.pattern_of is not None:
        typer.echo(
            f"The plan has no session on this day; these are the turns of "
            f"{day_in_words(evening.pattern_of)}."
        )
    if evening.planned_anew:
        typer.echo("A plan was made since; rounds have begun, so this session stays as it is.")
    typer.echo(
        f"Warm-up {record['warm_up_min']:g} min, then {len(record['rounds'])} rounds of "
        f"{record['round_min']:g} min."
    )
    stood = read_evening(record)
    stations = [one["name"] for one in record["stations"]]
    print_rounds(stations, stood.rounds, names, app.training)
    for number, resting in enumerate(record["resting"], 1):
        if resting:
            typer.echo(f"Round {number}, resting: {listed(resting, names)}")
    if record["absent"]:
        typer.echo(f"Not here: {listed(record['absent'], names)}")
    for one in record["held_back"]:
        her = names.get(one["gymnast"], "somebody")
        title = title_of(one["exercise"], app.training)
        typer.echo(f"{her} does no {title} tonight: a reported sign bars it.")
    if session.state == "ended":
        remark("This session has ended; what was done is kept and the next plan knows it.")


def _record(evening: Evening) -> dict[str, Any]:
    session = evening.session
    return {
        "schema": SCHEMA,
        "group": evening.group.name,
        "state": session.state,
        "names": {str(one.id): one.gymnast.name for one in evening.members},
        **{key: one for key, one in session.record.items() if key != "planned"},
    }
