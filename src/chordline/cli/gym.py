"""`chordline gym`: how a group trains."""

from dataclasses import replace
from datetime import date, time
from typing import Annotated, Any

import typer

from chordline.application.club.records import Group
from chordline.application.training.members import Member
from chordline.application.training.records import GroupTraining, StationRecord
from chordline.application.training.words import LEVELS
from chordline.catalogue.training_schema import TrainingCatalogue
from chordline.cli.console import print_json, print_table, remark
from chordline.cli.group import GroupArgument, member_called, members_of, open_group
from chordline.cli.take_in import DataOption
from chordline.core.planning.problem import Level
from chordline.errors import WrongUseError

SCHEMA = "chordline.gym/1"
DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")


def gym(
    group: GroupArgument,
    days: Annotated[
        str | None, typer.Option("--days", metavar="mon,wed,fri", help="Days of the week.")
    ] = None,
    start: Annotated[
        str | None,
        typer.Option("--start", metavar="HH:MM", help="When a session begins; 'none' = unsaid."),
    ] = None,
    minutes: Annotated[
        int | None, typer.Option("--minutes", help="Gym time of a session, warm-up included.")
    ] = None,
    coaches: Annotated[int | None, typer.Option("--coaches", help="Who can spot.")] = None,
    station: Annotated[
        list[str] | None,
        typer.Option(
            "--station",
            metavar="NAME:PLACES:EQUIPMENT,…",
            help="All stations anew, one an option, e.g. 'Wall:3:wall,mat'.",
        ),
    ] = None,
    level: Annotated[
        list[str] | None,
        typer.Option(
            "--level",
            metavar="GYMNAST:1|2|3",
            help="How long she has trained: 1 new, 2 some seasons, 3 advanced.",
        ),
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="One JSON object.")] = False,
    data: DataOption = None,
) -> None:
    """Show how a group trains, and change what is said of it."""
    with open_group(data, group) as (app, found):
        with app.records.reading() as tx:
            current = tx.training.group(found.id)
        changed = replace(
            current,
            weekdays=current.weekdays if days is None else _weekdays(days),
            starts_at=current.starts_at if start is None else _time(start),
            minutes=current.minutes if minutes is None else minutes,
            coaches=current.coaches if coaches is None else coaches,
            stations=current.stations if station is None else tuple(map(_station, station)),
        )
        members = members_of(app, found, date.today())
        said = [_level(one, members, found) for one in level or []]
        keep = app.keep_training()
        if changed != current:
            current = keep.save(changed)
        for her, known in said:
            keep.say_level(her.id, known)
        if said:
            members = members_of(app, found, date.today())
        if as_json:
            print_json(_record(found.name, current, members))
        else:
            _tell(current, members, app.training)


def _weekdays(said: str) -> tuple[int, ...]:
    words = [one.strip().casefold()[:3] for one in said.split(",") if one.strip()]
    for one in words:
        if one not in DAYS:
            raise WrongUseError(f"--days: '{one}' is no day; write some of {','.join(DAYS)}")
    return tuple(sorted({DAYS.index(one) for one in words}))


def _time(said: str) -> time | None:
    if said == "none":
        return None
    try:
        return time.fromisoformat(said)
    except ValueError:
        raise WrongUseError(f"--start: '{said}' is no time; write it as 17:00") from None


def _station(said: str) -> StationRecord:
    name, _, rest = said.partition(":")
    places, _, equipment = rest.partition(":")
    if not name.strip() or not places.strip().isdecimal():
        raise WrongUseError(f"--station '{said}': write NAME:PLACES:EQUIPMENT, e.g. 'Wall:3:wall'")
    words = tuple(one.strip() for one in equipment.split(",") if one.strip())
    return StationRecord(name.strip(), int(places), words)


def _level(said: str, members: tuple[Member, ...], group: Group) -> tuple[Member, Level]:
    name, _, number = said.rpartition(":")
    level = next((one for one in LEVELS if str(one) == number.strip()), None)
    if level is None or not name:
        raise WrongUseError(f"--level '{said}': write GYMNAST:1, GYMNAST:2 or GYMNAST:3")
    return member_called(name, members, group), level


def _tell(said: GroupTraining, members: tuple[Member, ...], training: TrainingCatalogue) -> None:
    begins = "" if said.starts_at is None else f" from {said.starts_at:%H:%M}"
    spotters = "1 coach" if said.coaches == 1 else f"{said.coaches} coaches"
    days = ", ".join(DAYS[one] for one in said.weekdays)
    typer.echo(f"{days}{begins}, {said.minutes} min, {spotters} who can spot")
    print_table(
        ("station", "places", "equipment"),
        [
            (
                one.name,
                str(one.places),
                ", ".join(
                    training.equipment[name].label if name in training.equipment else name
                    for name in one.equipment
                ),
            )
            for one in said.stations
        ],
    )
    for one in members:
        unsaid = "" if one.level_said else " (not said; the careful word)"
        typer.echo(f"{one.gymnast.name}: {LEVELS[one.level]}{unsaid}")
    if said.version == 0:
        remark("Nobody has said how this group trains; this is what we assume.")
    remark(f"Equipment is called: {', '.join(training.equipment)}")


def _record(group: str, said: GroupTraining, members: tuple[Member, ...]) -> dict[str, Any]:
    return {
        "schema": SCHEMA,
        "group": group,
        "said": said.version > 0,
        "days": [DAYS[one] for one in said.weekdays],
        "starts_at": None if said.starts_at is None else f"{said.starts_at:%H:%M}",
        "minutes": said.minutes,
        "coaches": said.coaches,
        "stations": [
            {"name": one.name, "places": one.places, "equipment": list(one.equipment)}
            for one in said.stations
        ],
        "levels": {
            one.gymnast.name: {"level": one.level, "said": one.level_said} for one in members
        },
    }
