"""Who saw and changed what: for whoever leads."""

from dataclasses import dataclass
from typing import Annotated
from urllib.parse import urlencode

from fastapi import APIRouter, Query, Request
from starlette.responses import HTMLResponse

from chordline.application.accounts.records import WHATS, TrailQuery, TrailRow
from chordline.web.access import AccessPlan
from chordline.web.desk import AtDesk
from chordline.web.ids import QueryId
from chordline.web.rendering import render
from chordline.web.trail_buffer import KEPT_FOR

router = APIRouter()

_A_PAGE = 60
_Text = Annotated[str, Query(max_length=200)]
_WHAT_WORDS = {
    "saw": "saw",
    "exported": "took out",
    "changed": "changed",
    "erased": "erased",
    "login": "logged in",
    "login failed": "failed to log in",
    "logout": "logged out",
}


@dataclass(frozen=True)
class Line:
    """A line as it is read.

    Attributes
    ----------
    row : TrailRow
    what : str
        In words.
    did : str
        Which action it was; empty where the line says all.
    about : str
        What it was done with.
    """

    row: TrailRow
    what: str
    did: str
    about: str


@router.get("/trail")
def show_trail(
    request: Request,
    desk: AtDesk,
    *,
    gymnast: QueryId = None,
    who: _Text = "",
    what: _Text = "",
    before: QueryId = None,
) -> HTMLResponse:
    """Show who saw and changed what."""
    club = desk.club
    query = TrailQuery(club.id, gymnast, who, what, before, limit=_A_PAGE + 1)
    with desk.app.records.reading() as tx:
        rows = tx.trail.page(query)
        everybody = tx.trail.who(club.id)
    shown = rows[:_A_PAGE]
    chosen = {"gymnast": gymnast or "", "who": who, "what": what}
    more = {**chosen, "before": shown[-1].id} if len(rows) > _A_PAGE else None
    return render(
        request,
        "trail.html",
        here="settings",
        lines=[_line(row, request.app.state.access) for row in shown],
        everybody=everybody,
        whats=[(one, _WHAT_WORDS[one]) for one in WHATS],
        chosen=chosen,
        her=next((row.gymnast for row in shown if row.gymnast and gymnast), None),
        more=f"/trail?{urlencode(more)}" if more else None,
        first=before is None,
        years=KEPT_FOR.days // 365,
    )


def _line(row: TrailRow, access: AccessPlan) -> Line:
    method, _, path = row.entry.about.partition(" ")
    found = access.find(method, path) if path.startswith("/") else None
    if found is None:
        return Line(row, _WHAT_WORDS[row.entry.what], "", row.entry.about)
    entry, parts = found
    thing = f"{entry.kind} {parts.get(f'{entry.kind}_id', '')}"
    about = thing if entry.kind and entry.kind != "gymnast" else ""
    # "Show a screen with its holds; …" is told as "saw: a screen with its holds".
    did = entry.words.partition(";")[0].removesuffix(".").removeprefix("Show ")
    return Line(row, _WHAT_WORDS[row.entry.what], did.removeprefix("Return "), about)
