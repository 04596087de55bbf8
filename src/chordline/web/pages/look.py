"""To look at: the photos that need a look, worst trust first."""

from typing import Annotated

from fastapi import APIRouter, Query, Request
from starlette.responses import HTMLResponse

from chordline.web.desk import AtDesk
from chordline.web.rendering import render

router = APIRouter()

#: So many photos are listed at once.
_SHOWN = 24


@router.get("/look")
def show_queue(
    request: Request, desk: AtDesk, after: Annotated[str | None, Query(max_length=300)] = None
) -> HTMLResponse:
    """Show the queue."""
    club = desk.club
    with desk.app.records.reading() as tx:
        page = tx.photos.queue(club.id, after=after, limit=_SHOWN)
        first = tx.photos.queue(club.id, limit=1).rows if after else page.rows
        counts = tx.photos.counts(club.id)
    return render(
        request,
        "look.html",
        here="look",
        page=page,
        first=first[0].photo.id if first else None,
        counts=counts,
        later=after is not None,
        tests=desk.app.catalogue.tests,
    )
