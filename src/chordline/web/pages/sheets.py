"""Sheets to print: one gymnast's screen, and a squad's latest screens."""

import re
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Annotated
from urllib.parse import quote

from fastapi import APIRouter, Query
from starlette.responses import HTMLResponse, Response

from chordline.application.club.her_screen import HerScreen
from chordline.application.club.views import GymnastQuery
from chordline.application.findings import Findings
from chordline.application.screen_folder import FolderScreen, LeftOut
from chordline.application.sheet import GymnastSheet
from chordline.application.squad_sheet import SquadSheet
from chordline.errors import RefusedInputError
from chordline.web.desk import AtDesk, Desk
from chordline.web.ids import PathId, read_id
from chordline.web.rendering import day_in_words

router = APIRouter()

#: More gymnasts than this are no squad on paper.
MOST_ON_A_SHEET = 120
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


@dataclass(frozen=True)
class _OnSheet:
    """One gymnast of a squad's sheet."""

    hers: HerScreen
    found: Findings
    day: date
    page: str


def _squad_sheet(desk: Desk, group: str) -> SquadSheet:
    club, judge = desk.club, desk.app.judge_screen
    group_id = read_id(group)
    on_sheet: list[_OnSheet] = []
    left_out: list[LeftOut] = []
    with desk.app.records.reading() as tx:
        query = GymnastQuery(club.id, group_id=group_id, sort="card", limit=MOST_ON_A_SHEET)
        page = tx.gymnasts.page(query)
        if page.next is not None:
            raise RefusedInputError(
                f"a sheet holds {MOST_ON_A_SHEET} gymnasts, here are {page.total}; choose a group"
            )
        named = next((one.name for one in tx.clubs.groups(club.id) if one.id == group_id), None)
        for row in page.rows:
            her = row.gymnast
            if row.last_screened_on is None:
                left_out.append(LeftOut(her.name, "not screened yet"))
                continue
            view = tx.gymnasts.view(her.id, screens=1).screens[0]
            hers = judge.read(tx, view, her)
            left_out.extend(hers.left_out)
            if hers.screen.filed or hers.screen.held:
                found = judge.find(hers, view)
                on_sheet.append(
                    _OnSheet(hers, found, view.screen.screened_on, f"/gymnasts/{her.id}")
                )
    return desk.app.make_squad_sheet()(
        FolderScreen(tuple(one.hers.screen for one in on_sheet), tuple(left_out)),
        [one.found for one in on_sheet],
        squad=named or club.name,
        pages=[one.page for one in on_sheet],
        screened_on=days_in_words([one.day for one in on_sheet]),
    )


def days_in_words(days: Sequence[date]) -> str:
    """Return the day of all screens, or the first and the last of them."""
    if not days:
        return ""
    first, last = min(days), max(days)
    if first == last:
        return day_in_words(first)
    return f"latest screens, {day_in_words(first)} to {day_in_words(last)}"
