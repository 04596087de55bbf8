"""Backups: made with one button, seen, checked, planned."""

from dataclasses import dataclass
from datetime import datetime, time
from typing import Annotated

from fastapi import APIRouter, Form, Request
from starlette.responses import HTMLResponse, Response

from chordline.application.backup.backup_health import age_in_words, look_at_backups, size_in_words
from chordline.application.backup.records import BackupNote, moment_of
from chordline.bootstrap.backup import open_folder
from chordline.errors import NotThereError, RefusedInputError
from chordline.web.backing_up import BackingUp
from chordline.web.desk import AtDesk
from chordline.web.forms import go_to
from chordline.web.rendering import render

router = APIRouter()

_HERE = "/settings/backups"


@dataclass(frozen=True)
class BackupRow:
    """One backup as the page shows it."""

    name: str
    made: datetime
    age: str
    size: str
    note: BackupNote | None
    checked: datetime | None


def _backing_up(request: Request) -> BackingUp:
    found: BackingUp = request.app.state.backing_up
    return found


@router.get(_HERE)
def show_backups(request: Request, desk: AtDesk) -> HTMLResponse:
    """Show the backups and when the next is made."""
    settings = desk.app.backup_settings.read()
    seen = look_at_backups(settings, open_folder)
    now = datetime.now().astimezone()
    rows = []
    for name in seen.names:
        made = moment_of(name)
        if made is None:
            continue
        note = settings.checked.get(name)
        checked = None if note is None else note.checked_at.astimezone()
        size = size_in_words(open_folder(settings.folder or "").size_of(name))
        age = age_in_words(now - made)
        rows.append(BackupRow(name, made.astimezone(), age, size, note, checked))
    return render(
        request,
        "backups.html",
        here="settings",
        settings=settings,
        seen=seen,
        rows=rows,
        same_disk=desk.app.backs_up_to_same_disk(settings),
        findings=[one for one in desk.app.examine_backups() if one.state != "well"],
        running=_backing_up(request).running,
        vault_state=desk.app.vault.state,
        sheet_printed_on=desk.app.vault.sheet_printed_on,
    )


@router.post(_HERE)
def back_up_now(request: Request) -> Response:
    """Make a backup."""
    _backing_up(request).ask()
    return go_to(_HERE)


@router.post(f"{_HERE}/stop")
def stop_backup(request: Request) -> Response:
    """Stop a backup that is being made."""
    _backing_up(request).give_up()
    return go_to(_HERE, "It stops. What was copied is used by the next one.")


@router.post(f"{_HERE}/check")
def check_backup(
    request: Request, desk: AtDesk, name: Annotated[str, Form(max_length=60)] = ""
) -> Response:
    """Read a backup from end to end."""
    # A name becomes a path only where the folder itself lists it.
    settings = desk.app.backup_settings.read()
    if name not in look_at_backups(settings, open_folder).names:
        raise NotThereError("backup", 0)
    _backing_up(request).ask(name)
    return go_to(_HERE)


@router.post(f"{_HERE}/schedule")
def plan_backups(
    desk: AtDesk,
    daily: Annotated[str, Form(max_length=3)] = "",
    at: Annotated[str, Form(max_length=8)] = "",
) -> Response:
    """Say when backups are made."""
    daily_at: time | None = None
    if daily == "yes":
        try:
            daily_at = time.fromisoformat(at).replace(second=0, microsecond=0, tzinfo=None)
        except ValueError:
            raise RefusedInputError(f"'{at}' is no time; write it as 21:30") from None
    desk.app.backup_settings.change(lambda one: one.at(daily_at))
    if daily_at is None:
        return go_to(_HERE, "Backups are made only when you press the button.")
    return go_to(_HERE, f"A backup is made every day at {daily_at:%H:%M}.")
