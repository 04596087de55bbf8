"""To look at: the photos that need a look, worst trust first; videos to trim or to look at."""

from typing import Annotated

from fastapi import APIRouter, Query, Request
from starlette.responses import HTMLResponse

from chordline.web.desk import AtDesk
from chordline.web.rendering import render
from chordline.web.video_list import show_videos, videos_to_trim

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
        catalogue = desk.app.catalogue
        doubtful = show_videos(tx, tx.videos.looks(club.id), catalogue)
        to_trim = videos_to_trim(tx, club.id, catalogue)
    return render(
        request,
        "look.html",
        here="look",
        page=page,
        first=first[0].photo.id if first else None,
        counts=counts,
        doubtful_videos=doubtful,
        to_trim=to_trim,
        later=after is not None,
        tests=catalogue.tests,
    )
