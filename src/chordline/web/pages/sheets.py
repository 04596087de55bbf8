"""Sheets to print: one gymnast's screen, and a squad's latest screens."""

import re
import unicodedata
from datetime import date
from typing import Annotated
from urllib.parse import quote

from fastapi import APIRouter, Query
from starlette.responses import HTMLResponse, Response

from chordline.application.club.latest_screens import read_latest_screens
from chordline.application.days import day_in_words, days_in_words
from chordline.application.sheet import GymnastSheet
from chordline.application.squad_sheet import SquadSheet
from chordline.web.desk import AtDesk, Desk
from chordline.web.ids import PathId, read_id

router = APIRouter()

_PDF = "application/pdf"


@router.get("/screens/{screen_id}/sheet.html")
def show_sheet(desk: AtDesk, screen_id: PathId) -> HTMLResponse:
    """Show a screen's sheet as a page."""
    return HTMLResponse(desk.app.press.to_html(_sheet(desk, screen_id)[0]))


@router.get("/screens/{screen_id}/sheet.pdf")
def print_sheet(desk: AtDesk, screen_id: PathId) -> Response:
    """Print a screen's sheet."""
    sheet, day = _sheet(desk, screen_id)
    return _paper(desk.app.press.to_pdf(sheet), f"{sheet.gymnast} {day.isoformat()}")


@router.get("/squad/sheet.html")
def show_squad_sheet(
    desk: AtDesk, group: Annotated[str, Query(max_length=12)] = ""
) -> HTMLResponse:
    """Show a squad's sheet as a page."""
    return HTMLResponse(desk.app.press.squad_to_html(_squad_sheet(desk, group)))


@router.get("/squad/sheet.pdf")
def print_squad_sheet(desk: AtDesk, group: Annotated[str, Query(max_length=12)] = "") -> Response:
    """Print a squad's sheet."""
    sheet = _squad_sheet(desk, group)
    return _paper(desk.app.press.squad_to_pdf(sheet), f"{sheet.squad} {desk.today()}")


def _paper(content: bytes, name: str) -> Response:
    return Response(
        content, media_type=_PDF, headers={"Content-Disposition": disposition(f"{name}.pdf")}
    )


def disposition(name: str) -> str:
    """Return a Content-Disposition for a file of this name, shown in the browser.

    The plain name is for programs that know nothing else: letters, figures, `-` and `.` only.
    """
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode()
    safe = re.sub(r"[^A-Za-z0-9.-]+", "-", plain).strip("-.") or "sheet.pdf"
    if safe == "pdf":
        safe = "sheet.pdf"
    return f"inline; filename=\"{safe}\"; filename*=UTF-8''{quote(name, safe='')}"


def _sheet(desk: Desk, screen_id: int) -> tuple[GymnastSheet, date]:
    judge = desk.app.judge_screen
    with desk.app.records.reading() as tx:
        view = tx.screens.view(screen_id)
        hers = judge.read(tx, view)
    sheet = desk.app.make_sheet()(
        hers.screen,
        left_out=hers.left_out,
        found=judge.find(hers, view),
        screened_on=day_in_words(view.screen.screened_on),
    )
    return sheet, view.screen.screened_on


def _squad_sheet(desk: Desk, group: str) -> SquadSheet:
    club = desk.club
    group_id = read_id(group)
    with desk.app.records.reading() as tx:
        latest = read_latest_screens(tx, club.id, desk.app.judge_screen, group_id=group_id)
        named = next((one.name for one in tx.clubs.groups(club.id) if one.id == group_id), None)
    return desk.app.make_squad_sheet()(
        latest.screens,
        latest.found,
        squad=named or club.name,
        pages=[f"/gymnasts/{one}" for one in latest.gymnast_ids],
        screened_on=days_in_words(latest.days),
    )
