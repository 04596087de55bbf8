"""Settings: the club, this device, and what the numbers rest on."""

from typing import Annotated
from urllib.parse import quote

from fastapi import APIRouter, Form, Request
from starlette.responses import HTMLResponse, Response

from chordline.errors import RefusedInputError
from chordline.web.desk import COACH_COOKIE, SOMEBODY, AtDesk, Coach
from chordline.web.forms import go_to
from chordline.web.rendering import render

router = APIRouter()

_A_YEAR_S = 365 * 24 * 3600


@router.get("/settings")
def show_settings(request: Request, desk: AtDesk, coach: Coach) -> HTMLResponse:
    """Show the settings."""
    with desk.app.records.reading() as tx:
        failed = tx.jobs.failed(desk.club.id, limit=20)
    backups = next((one for one in desk.app.examine_backups() if one.what == "backups"), None)
    return render(
        request,
        "settings.html",
        here="settings",
        coach="" if coach == SOMEBODY else coach,
        backups_told="nothing is known of backups" if backups is None else backups.told,
        backups_look=backups is None or backups.state != "well",
        failed=failed,
        vault_state="locked" if desk.locked else desk.app.vault.state,
        sheet_printed_on=None if desk.locked else desk.app.vault.sheet_printed_on,
    )


@router.get("/settings/health")
def show_health(request: Request, desk: AtDesk) -> HTMLResponse:
    """Look whether everything is there and whole; a large club takes some seconds."""
    findings = desk.app.examine()
    return render(request, "health.html", here="settings", findings=findings)


@router.get("/settings/numbers")
def show_numbers(request: Request, desk: AtDesk) -> HTMLResponse:
    """Show every number that measuring and judging rest on, with its reason."""
    catalogue = desk.app.catalogue
    return render(
        request,
        "numbers.html",
        here="settings",
        settings=catalogue.settings,
        capacities=catalogue.capacities,
        limits=catalogue.limits,
        handstand=desk.app.segments.handstand,
        sources={**catalogue.sources, **desk.app.segments.sources},
        version_of_catalogue=catalogue.version,
    )


@router.get("/help")
def show_help(request: Request, desk: AtDesk) -> HTMLResponse:
    """Show how a screening goes, the tests of the battery, and the words."""
    return render(request, "help.html", here="", tests=desk.app.catalogue.tests)


@router.post("/settings/club")
def name_club(desk: AtDesk, name: Annotated[str, Form()] = "") -> Response:
    """Give the club its name."""
    name = " ".join(name.split())
    if not name or len(name) > 100:
        raise RefusedInputError("a club needs a name of at most 100 letters")
    with desk.app.records.transaction() as tx:
        tx.clubs.rename(desk.club.id, name)
    return go_to("/settings", f"The club is called {name} now.")


@router.post("/settings/coach")
def name_coach(name: Annotated[str, Form()] = "") -> Response:
    """Say who is at this device."""
    name = " ".join(name.split())[:100]
    answer = go_to(
        "/settings",
        f"Marks and notes from this device carry the name {name}."
        if name
        else "Marks and notes from this device carry no name now.",
    )
    answer.set_cookie(
        COACH_COOKIE, quote(name), max_age=_A_YEAR_S, httponly=True, samesite="strict"
    )
    return answer
