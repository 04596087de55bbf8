"""Today: what waits, who is due, what to be careful of."""

from dataclasses import dataclass
from datetime import date, timedelta

from fastapi import APIRouter, Request
from starlette.responses import HTMLResponse

from chordline.application.club.video_records import VideoCounts
from chordline.application.club.views import GymnastQuery, GymnastRow, QueueCounts, QueueRow
from chordline.application.club.whom_to_ask import ToAsk, whom_to_ask
from chordline.web.desk import AtDesk, Desk
from chordline.web.rendering import render

router = APIRouter()

#: So many gymnasts and photos are named here; their own pages have the rest.
_NAMED = 8


@dataclass(frozen=True)
class Due:
    """A gymnast whose next screen is due, and since when; None = never screened."""

    row: GymnastRow
    weeks: int | None


@dataclass(frozen=True)
class TodayView:
    """What the page shows.

    Attributes
    ----------
    gymnasts : int
    counts : QueueCounts
    videos : VideoCounts
    looks : sequence of QueueRow
        The photos to look at first.
    due : sequence of Due
    more_due : bool
    due_weeks : float
        After how many weeks a screen is due.
    ask : sequence of ToAsk
        Whose family is to be asked, because what it allowed ends or has ended.
    not_asked : int
        How many families nobody asked yet.
    backups : tuple of str
        What is to be done about backups: too old, failed, a ring of keys still to be replaced.
    """

    gymnasts: int
    counts: QueueCounts
    videos: VideoCounts
    looks: tuple[QueueRow, ...]
    due: tuple[Due, ...]
    more_due: bool
    due_weeks: float
    ask: tuple[ToAsk, ...] = ()
    not_asked: int = 0
    backups: tuple[str, ...] = ()


@router.get("/")
def show_today(request: Request, desk: AtDesk) -> HTMLResponse:
    """Show what waits."""
    return render(request, "today.html", here="today", view=read_today(desk))


def read_today(desk: Desk) -> TodayView:
    """Return what waits."""
    club, today = desk.club, desk.today()
    weeks = desk.app.catalogue.setting("screen_due_weeks")
    with desk.app.records.reading() as tx:
        counts = tx.photos.counts(club.id)
        videos = tx.videos.counts(club.id)
        ask = whom_to_ask(tx, club.id, today, desk.app.consent_rules)
        looks = tx.photos.queue(club.id, limit=_NAMED).rows
        page = tx.gymnasts.page(GymnastQuery(club.id, sort="last_screened", limit=_NAMED + 1))
    due = [
        Due(row, _weeks_since(row.last_screened_on, today))
        for row in page.rows
        if row.last_screened_on is None or row.last_screened_on <= today - timedelta(weeks=weeks)
    ]
    return TodayView(
        gymnasts=page.total,
        counts=counts,
        videos=videos,
        looks=tuple(looks),
        due=tuple(due[:_NAMED]),
        more_due=len(due) > _NAMED,
        due_weeks=weeks,
        ask=tuple(one for one in ask if one.why != "not_asked"),
        not_asked=sum(one.why == "not_asked" for one in ask),
        backups=desk.app.backups_to_heed(),
    )


def _weeks_since(day: date | None, today: date) -> int | None:
    return None if day is None else (today - day).days // 7
