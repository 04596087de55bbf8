"""`chordline consent`: what families allow, and what follows from it."""

from dataclasses import replace
from datetime import date
from typing import Annotated, Any

import typer

from chordline.application.club.consent import allowed_on, as_said
from chordline.application.club.records import GymnastRecord
from chordline.application.club.whom_to_ask import whom_to_ask
from chordline.application.days import day_in_words
from chordline.application.roster.match import all_gymnasts
from chordline.bootstrap import App, build_app
from chordline.cli.console import print_json, remark
from chordline.cli.group import read_date
from chordline.cli.pick import pick_gymnast
from chordline.cli.take_in import DataOption
from chordline.errors import WrongUseError

SCHEMA = "chordline.consent/1"

app = typer.Typer(
    no_args_is_help=True, help="What families allow: who is to be asked, and what has to go."
)

JsonOption = Annotated[bool, typer.Option("--json", help="One JSON object a line.")]


@app.command("list")
def list_consents(as_json: JsonOption = False, data: DataOption = None) -> None:
    """Say what is allowed for everybody, and whose family is to be asked."""
    today = date.today()
    club = build_app(data=data)
    try:
        with club.records.reading() as tx:
            everybody = [row.gymnast for row in all_gymnasts(tx, club.club().id)]
            ask = {
                one.gymnast.id: one.words()
                for one in whom_to_ask(tx, club.club().id, today, club.consent_rules)
            }
    finally:
        club.records.close()
    for her in everybody:
        if as_json:
            print_json(_record(club, her, today, ask.get(her.id)))
        else:
            typer.echo(_line(club, her, today, ask.get(her.id)))


@app.command("set")
def set_consent(
    gymnast: Annotated[str, typer.Argument(metavar="GYMNAST", help="Card number or name.")],
    measure: Annotated[
        bool | None, typer.Option("--measure/--no-measure", help="Measuring from pictures.")
    ] = None,
    keep: Annotated[
        bool | None, typer.Option("--keep/--no-keep", help="Keeping pictures and videos.")
    ] = None,
    show: Annotated[
        bool | None, typer.Option("--show/--no-show", help="Showing pictures to the squad.")
    ] = None,
    until: Annotated[
        str | None, typer.Option("--until", metavar="DATE", help="Last day; 'never' ends never.")
    ] = None,
    said_by: Annotated[str | None, typer.Option("--by", metavar="WHO", help="Who said it.")] = None,
    said_on: Annotated[
        str | None, typer.Option("--on", metavar="DATE", help="When; today if unset.")
    ] = None,
    note: Annotated[
        str | None, typer.Option("--note", help="How: on paper, by mail, and where that is.")
    ] = None,
    as_json: JsonOption = False,
    data: DataOption = None,
) -> None:
    """Write down what a family said. What is not named stays as it is."""
    today = date.today()
    day = today if said_on is None else read_date(said_on, "--on")
    if day > today:
        raise WrongUseError("--on: the day lies in the future")
    given: dict[str, Any] = {
        name: value
        for name, value in {
            "measure": measure,
            "keep_pictures": keep,
            "show_to_squad": show,
            "said_by": said_by,
            "note": note,
        }.items()
        if value is not None
    }
    if until is not None:
        given["until"] = None if until == "never" else read_date(until, "--until")
    if not given and said_on is None:
        raise WrongUseError("say what the family said, e.g. --measure --no-keep --by 'her mother'")
    club = build_app(data=data)
    try:
        with club.records.transaction() as tx:
            her = pick_gymnast(tx, club.club().id, gymnast)
            after = replace(her.consent, **given, said_on=day)
            her = tx.gymnasts.update(replace(her, consent=as_said(her.consent, after, day)))
        queued = club.apply_consent().take_up(her.club_id, today)
    finally:
        club.records.close()
    if as_json:
        print_json(_record(club, her, today, None))
    else:
        typer.echo(_line(club, her, today, None))
    if queued:
        remark(f"{queued} photos and videos that waited for it will be measured.")


@app.command("apply")
def apply_consents(
    dry_run: Annotated[
        bool, typer.Option("--dry-run", help="Only say what would be deleted.")
    ] = False,
    as_json: JsonOption = False,
    data: DataOption = None,
) -> None:
    """Delete the pictures that may be here no more; a running server does it every day."""
    today = date.today()
    club = build_app(data=data)
    try:
        use_case = club.apply_consent()
        club_id = club.club().id
        applied = None if dry_run else use_case(club_id, today)
        dropped = use_case.due(club_id, today) if applied is None else applied.dropped
    finally:
        club.records.close()
    for one in dropped:
        if as_json:
            print_json(
                {
                    "schema": SCHEMA,
                    "gymnast_number": one.gymnast.id,
                    "what": one.what,
                    "number": one.id,
                    "goes_on": one.goes_on.isoformat(),
                    "deleted": not dry_run,
                }
            )
        else:
            verb = "would be deleted" if dry_run else "deleted"
            typer.echo(
                f"{one.gymnast.name}: {one.what} {one.id} {verb} "
                f"(to go since {day_in_words(one.goes_on)})"
            )
    if not dropped:
        remark("Nothing has to go.")
    if applied is not None and applied.queued:
        remark(f"{applied.queued} photos and videos are measured now that it is allowed.")


def _line(club: App, her: GymnastRecord, today: date, ask: str | None) -> str:
    allowed = allowed_on(her.consent, today, club.consent_rules)
    words = {
        "measure": allowed.measure,
        "keep": allowed.keep_pictures,
        "show": allowed.show_to_squad,
    }
    told = ", ".join(f"{name} {'yes' if yes else 'no'}" for name, yes in words.items())
    if allowed.stand == "not_asked":
        told = "nobody asked yet"
    if her.consent.until is not None and allowed.stand == "holds":
        told += f", until {day_in_words(her.consent.until)}"
    return f"{her.name}: {told}" + (f"; ask: {ask}" if ask else "")


def _record(club: App, her: GymnastRecord, today: date, ask: str | None) -> dict[str, Any]:
    allowed = allowed_on(her.consent, today, club.consent_rules)
    consent = her.consent
    return {
        "schema": SCHEMA,
        "gymnast": her.name,
        "card": her.card,
        "stands": allowed.stand,
        "measure": allowed.measure,
        "keep_pictures": allowed.keep_pictures,
        "show_to_squad": allowed.show_to_squad,
        "until": None if consent.until is None else consent.until.isoformat(),
        "said_on": None if consent.said_on is None else consent.said_on.isoformat(),
        "said_by": consent.said_by or None,
        "note": consent.note or None,
        "ask": ask,
    }
