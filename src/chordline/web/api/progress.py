"""What is being measured."""

from fastapi import APIRouter
from pydantic import BaseModel

from chordline.application.club.ports import Tx
from chordline.errors import NotThereError
from chordline.web.desk import AtDesk, Desk

router = APIRouter(tags=["progress"])

#: So many of the photos that were measured last are named.
_NAMED = 8


class MeasuredJson(BaseModel):
    """A photo that was measured just now, as it stands now."""

    photo_id: int
    name: str
    gymnast: str | None
    test: str | None
    state: str
    reason: str | None


class ProgressJson(BaseModel):
    """What waits, and what the worker does.

    `waiting`: photos still to be measured; `measured`: since the server started; `recent`: the
    latest first.
    """

    waiting: int
    needs_look: int
    refused: int
    unfiled: int
    paused: bool
    measured: int
    recent: list[MeasuredJson]


def read_progress(desk: Desk) -> ProgressJson:
    """Return what waits."""
    with desk.app.records.reading() as tx:
        counts = tx.photos.counts(desk.club.id)
        jobs = tx.jobs.counts(desk.club.id)
        recent = [_recent(tx, one.photo_id) for one in desk.measuring.recent[:_NAMED]]
    return ProgressJson(
        waiting=jobs["waiting"] + jobs["running"],
        needs_look=counts.needs_look,
        refused=counts.refused,
        unfiled=counts.unfiled,
        paused=desk.measuring.paused,
        measured=desk.measuring.done,
        recent=[one for one in recent if one is not None],
    )


def _recent(tx: Tx, photo_id: int) -> MeasuredJson | None:
    """Return a photo as it stands now; None where it was taken out since."""
    try:
        photo = tx.photos.get(photo_id)
    except NotThereError:
        return None
    gymnast = None
    if photo.screen_id is not None:
        gymnast = tx.gymnasts.get(tx.screens.get(photo.screen_id).gymnast_id).name
    return MeasuredJson(
        photo_id=photo.id,
        name=photo.name,
        gymnast=gymnast,
        test=photo.test,
        state=photo.state,
        reason=photo.reason,
    )


@router.get("/progress")
def tell_progress(desk: AtDesk) -> ProgressJson:
    """Return what waits to be measured and what was measured last."""
    return read_progress(desk)


@router.post("/progress/pause")
def pause(desk: AtDesk) -> ProgressJson:
    """Measure nothing more until told to go on; what waits is kept."""
    desk.measuring.pause()
    return read_progress(desk)


@router.post("/progress/go-on")
def go_on(desk: AtDesk) -> ProgressJson:
    """Go on measuring."""
    desk.measuring.go_on()
    return read_progress(desk)
