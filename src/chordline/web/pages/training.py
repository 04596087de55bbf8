"""Training: the groups with their plans and sessions, and how a group trains."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, time
from typing import Annotated

from fastapi import APIRouter, Form, Request
from starlette.responses import HTMLResponse, Response

from chordline.application.club.records import Group
from chordline.application.club.views import GymnastQuery
from chordline.application.training.members import find_group
from chordline.application.training.planned import sessions_that_hold
from chordline.application.training.records import (
    GroupTraining,
    StaleTrainingError,
    StationRecord,
)
from chordline.application.training.words import LEVELS
from chordline.core.planning.problem import Level
from chordline.errors import NotThereError, RefusedInputError
from chordline.web.desk import AtDesk, Desk
from chordline.web.forms import go_to, read_number
from chordline.web.ids import FormId, PathId
from chordline.web.rendering import render

router = APIRouter()

WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
#: Empty lines for stations that are still to be named.
_SPARE_STATIONS = 2


@dataclass(frozen=True)
class GroupShown:
    """A group in the list: how it trains, until when it is planned, and its next session."""

    group: Group
    how: str
    said: bool
    planned_until: date | None
    next_day: date | None


@router.get("/training")
def show_training(request: Request, desk: AtDesk) -> HTMLResponse:
    """Show the groups."""
    today = desk.today()
    shown = []
    with desk.app.records.reading() as tx:
        for group in tx.clubs.groups(desk.club.id):
            training = tx.training.group(group.id)
            days = [one.held_on for one in sessions_that_hold(tx.training.plans(group.id))]
            shown.append(
                GroupShown(
                    group=group,
                    how=how_in_words(training),
                    said=training.version > 0,
                    planned_until=max(days, default=None),
                    next_day=min((day for day in days if day >= today), default=None),
                )
            )
    return render(request, "training.html", here="training", groups=shown)


def how_in_words(training: GroupTraining) -> str:
    """Return how a group trains, e.g. ``Monday and Friday from 17:00, 60 min, 2 coaches``."""
    days = [WEEKDAYS[day] for day in training.weekdays]
    listed = " and ".join([", ".join(days[:-1]), days[-1]] if len(days) > 1 else days)
    at = "" if training.starts_at is None else f" from {training.starts_at:%H:%M}"
    coaches = "1 coach" if training.coaches == 1 else f"{training.coaches} coaches"
    stations = "1 station" if len(training.stations) == 1 else f"{len(training.stations)} stations"
    return f"{listed}{at}, {training.minutes} min, {coaches}, {stations}"


@router.get("/groups/{group_id}/gym")
def show_gym(request: Request, desk: AtDesk, group_id: PathId) -> HTMLResponse:
    """Show how a group trains."""
    return _gym_page(request, desk, group_id)


def _gym_page(
    request: Request,
    desk: Desk,
    group_id: int,
    *,
    entered: GroupTraining | None = None,
    problem: str = "",
) -> HTMLResponse:
    with desk.app.records.reading() as tx:
        group = find_group(tx, group_id)
        training = tx.training.group(group_id)
        rows = tx.gymnasts.page(GymnastQuery(desk.club.id, group_id=group_id, limit=500)).rows
        members = [row.gymnast for row in rows]
        levels = tx.training.levels([her.id for her in members])
    shown = entered or training
    spare = StationRecord("", 4)
    return render(
        request,
        "gym.html",
        here="training",
        status=422 if problem else 200,
        group=group,
        shown=shown,
        assumed=training.version == 0,
        version=training.version,
        stations=(*shown.stations, *[spare] * _SPARE_STATIONS),
        weekdays=WEEKDAYS,
        equipment=desk.app.training.equipment,
        members=members,
        levels=levels,
        level_words=LEVELS,
        problem=problem,
    )


@router.post("/groups/{group_id}/gym")
async def save_gym(request: Request, desk: AtDesk, group_id: PathId) -> Response:
    """Keep how a group trains."""
    form = await request.form()
    entered = GroupTraining(group_id, (), None, 0, 0, ())
    try:
        entered = _read_gym(
            group_id,
            {key: [str(one) for one in form.getlist(key)] for key in form},
        )
        desk.app.keep_training().save(entered, token=str(form.get("token", "")) or None)
    except StaleTrainingError as error:
        return _gym_page(request, desk, group_id, problem=str(error))
    except NotThereError:
        raise
    except RefusedInputError as error:
        shown = entered if entered.stations else None
        return _gym_page(request, desk, group_id, entered=shown, problem=str(error))
    return go_to(f"/groups/{group_id}/plan", "How the group trains is kept. Plan again to use it.")


def _read_gym(group_id: int, form: dict[str, list[str]]) -> GroupTraining:
    """Return what the form says; stations without a name are left out."""

    def one(name: str) -> str:
        return form.get(name, [""])[0].strip()

    names = form.get("station", [])
    places = form.get("places", [])
    stations = [
        StationRecord(
            name=" ".join(name.split()),
            places=int(
                read_number(places[number] if number < len(places) else "", of="places", whole=True)
                or 0
            ),
            equipment=tuple(form.get(f"equipment-{number}", [])),
        )
        for number, name in enumerate(names)
        if name.strip()
    ]
    return GroupTraining(
        group_id=group_id,
        weekdays=tuple(sorted({int(day) for day in form.get("day", []) if day.isdecimal()})),
        starts_at=_read_clock(one("starts_at")),
        minutes=int(read_number(one("minutes"), of="minutes", whole=True) or 0),
        coaches=int(read_number(one("coaches"), of="coaches", whole=True) or 0),
        stations=tuple(stations),
        version=int(read_number(one("version"), of="version", whole=True) or 0),
    )


def _read_clock(text: str) -> time | None:
    if not text:
        return None
    try:
        return time.fromisoformat(text)
    except ValueError:
        raise RefusedInputError(f"'{text[:20]}' is no time of day; write it as 17:30") from None


@router.post("/groups/{group_id}/levels")
def say_levels(
    desk: AtDesk,
    group_id: PathId,
    gymnast: Annotated[Sequence[FormId], Form()] = (),
    level: Annotated[Sequence[str], Form()] = (),
) -> Response:
    """Keep how long the gymnasts of a group have trained."""
    keep = desk.app.keep_training()
    for her, said in zip(gymnast, level, strict=False):
        known: Level | None = next((one for one in LEVELS if str(one) == said), None)
        if known is not None:
            keep.say_level(her, known)
    return go_to(f"/groups/{group_id}/gym#levels", "How long they have trained is kept.")
