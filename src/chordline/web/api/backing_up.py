"""How far a backup is."""

from fastapi import APIRouter, Request
from pydantic import BaseModel

from chordline.web.backing_up import BackingUp

router = APIRouter(tags=["backups"])


class BackingUpJson(BaseModel):
    """How far a backup is: `done` of `total` pictures, 0 while the records are copied."""

    running: bool
    words: str
    done: int
    total: int
    ended: int


@router.get("/backing-up")
def tell_backing_up(request: Request) -> BackingUpJson:
    """Return how far a backup is."""
    backing_up: BackingUp = request.app.state.backing_up
    now = backing_up.running
    return BackingUpJson(
        running=bool(now.what), words=now.words, done=now.done, total=now.total, ended=now.ended
    )
