"""Sheets to print: one gymnast's screen, and a squad's latest screens."""

import re
import unicodedata
from dataclasses import replace
from datetime import date
from typing import Annotated
from urllib.parse import quote

from fastapi import APIRouter, Query
from starlette.responses import HTMLResponse, Response

from chordline.application.club.her_screen import counting_holds
from chordline.application.club.latest_screens import read_latest_screens
from chordline.application.days import days_in_words
from chordline.application.sheet import Faces, GymnastSheet
from chordline.application.squad_sheet import SquadSheet
from chordline.web.desk import AtDesk, Desk
from chordline.web.ids import PathId, read_id
from chordline.web.video_list import holds_of_screen

router = APIRouter()

_PDF = "application/pdf"

#: ``shown``, or anything else for hidden.
FacesAsked = Annotated[str, Query(max_length=12)]


@router.get("/screens/{screen_id}/sheet.html")
def show_sheet(desk: AtDesk, screen_id: PathId, faces: FacesAsked = "") -> HTMLResponse:
    """Show a screen's sheet as a page."""
    return HTMLResponse(desk.app.press.to_html(_sheet(desk, screen_id, faces)[0]))


@router.get("/screens/{screen_id}/sheet.pdf")
def print_sheet(desk: AtDesk, screen_id: PathId, faces: FacesAsked = "") -> Response:
    """Print a screen's sheet."""
    sheet, day = _sheet(desk, screen_id, faces)
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


def read_faces(asked: str) -> Faces:
    """Return whether faces are hidden: always, unless somebody asked for them."""
    return "shown" if asked == "shown" else "hidden"


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


def _sheet(desk: Desk, screen_id: int, faces: str) -> tuple[GymnastSheet, date]:
    sheet = desk.app.screen_sheet(screen_id, faces=read_faces(faces))
    with desk.app.records.reading() as tx:
        view = tx.screens.view(screen_id)
        holds = holds_of_screen(tx, counting_holds(view), desk.app.catalogue)
    told = tuple(f"{one.title}: {one.seconds}, {one.ended}" for one in holds)
    return replace(sheet, holds=told), view.screen.screened_on


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
