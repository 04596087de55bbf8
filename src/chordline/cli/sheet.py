"""`chordline sheet`: what is printed of training, in the reader's language."""

from collections.abc import Callable
from datetime import date
from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from chordline.application.club.ports import Tx
from chordline.application.sheet import Faces
from chordline.application.tongue import Tongue, tongue_of
from chordline.bootstrap import App, build_app
from chordline.cli.console import remark
from chordline.cli.faces import FacesChoice, FacesOption, read_choice
from chordline.cli.group import find_named, read_date
from chordline.cli.pick import pick_gymnast
from chordline.cli.take_in import DataOption
from chordline.errors import RefusedInputError, WrongUseError


class SheetKind(StrEnum):
    """What a sheet is for."""

    FAMILY = "family"
    COACH = "coach"
    STATIONS = "stations"
    SQUAD = "squad"
    REFERRAL = "referral"
    PROGRESS = "progress"


class LanguageChoice(StrEnum):
    """Language of a sheet."""

    ENGLISH = "en"
    GERMAN = "de"
    FRENCH = "fr"


_OF_A_GROUP = (SheetKind.STATIONS, SheetKind.SQUAD)


def sheet(
    kind: Annotated[SheetKind, typer.Argument(help="What it is for.", show_default=False)],
    who: Annotated[
        str | None,
        typer.Argument(metavar="[WHO]", help="Card number or name; a group for stations, squad."),
    ] = None,
    output: Annotated[
        Path | None, typer.Option("--output", "-o", metavar="FILE.pdf", help="Where it goes.")
    ] = None,
    language: Annotated[
        LanguageChoice, typer.Option("--language", help="What it is written in.")
    ] = LanguageChoice.ENGLISH,
    on: Annotated[
        str | None, typer.Option("--on", metavar="DATE", help="The day it is for; today if unset.")
    ] = None,
    faces: FacesOption = FacesChoice.HIDDEN,
    data: DataOption = None,
) -> None:
    """Print a sheet of training as PDF.

    'family' is one page for a gymnast and her family; 'coach' her findings and plan; 'referral'
    a note to a licensed clinician for her latest open sign; 'progress' what changed between her
    screens. 'stations' is a group's rotation of a
    day, the next session where none is given; 'squad' its plan. A club with one group need not
    name it.
    """
    if output is None:
        raise WrongUseError("say where the sheet goes: -o FILE.pdf")
    day = date.today() if on is None else read_date(on, "--on")
    app = build_app(data=data)
    try:
        with app.records.reading() as tx:
            club_id = app.club().id
            find = _group if kind in _OF_A_GROUP else _gymnast
            found = find(tx, club_id, who)
        content = _printed(
            app,
            kind,
            found,
            day=day,
            next_too=on is None,
            tongue=_tongue(language),
            faces=read_choice(faces),
        )
    finally:
        app.records.close()
    try:
        output.write_bytes(content)
    except OSError as error:
        raise RefusedInputError(f"{output} cannot be written ({error.strerror})") from None
    remark(f"Wrote {output}.")


def _tongue(language: LanguageChoice) -> Tongue:
    return tongue_of(language.value)


def _printed(
    app: App,
    kind: SheetKind,
    id_: int,
    *,
    day: date,
    next_too: bool,
    tongue: Tongue,
    faces: Faces,
) -> bytes:
    gather, press = app.gather_sheets(), app.training_press
    ways: dict[SheetKind, Callable[[], bytes]] = {
        SheetKind.FAMILY: lambda: press.family_to_pdf(gather.family(id_, day=day, tongue=tongue)),
        SheetKind.COACH: lambda: press.coach_plan_to_pdf(
            gather.coach_plan(id_, day=day, tongue=tongue)
        ),
        SheetKind.STATIONS: lambda: press.stations_to_pdf(
            gather.stations(id_, day=day, tongue=tongue, or_next=next_too)
        ),
        SheetKind.SQUAD: lambda: press.plan_to_pdf(gather.plan(id_, day=day, tongue=tongue)),
        SheetKind.REFERRAL: lambda: press.referral_to_pdf(
            gather.referral(id_, None, day=day, tongue=tongue)
        ),
        SheetKind.PROGRESS: lambda: app.print_progress(id_, day=day, tongue=tongue, faces=faces),
    }
    return ways[kind]()


def _gymnast(tx: Tx, club_id: int, who: str | None) -> int:
    if who is None:
        raise WrongUseError("whose sheet? Name a gymnast by card number or name")
    return pick_gymnast(tx, club_id, who).id


def _group(tx: Tx, club_id: int, who: str | None) -> int:
    groups = tx.clubs.groups(club_id)
    if who is None and len(groups) == 1:
        return groups[0].id
    if who is None:
        known = ", ".join(one.name for one in groups) or "none yet"
        raise WrongUseError(f"which group? The groups are: {known}")
    return find_named(tx, club_id, who).id
