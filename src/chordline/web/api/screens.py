"""Screens, holds, notes and findings."""

from datetime import date
from typing import Annotated, Any

from fastapi import APIRouter, Response
from pydantic import BaseModel, Field

from chordline.application.club.ports import Tx
from chordline.application.club.views import ScreenView
from chordline.application.findings_json import findings_to_json
from chordline.errors import NotThereError
from chordline.web.api.screen_json import (
    FindingsJson,
    HoldJson,
    NoteJson,
    ScreenJson,
    ScreensJson,
    hold_to_json,
    note_to_json,
    screen_to_json,
    short_to_json,
)
from chordline.web.desk import AtDesk, Coach, Desk
from chordline.web.ids import PathId

router = APIRouter(tags=["screens"])

_NOT_THERE: dict[int | str, dict[str, Any]] = {404: {"description": "It is not there (any more)."}}
_TAKEN: dict[int | str, dict[str, Any]] = {
    **_NOT_THERE,
    422: {"description": "It cannot be so; the reason is told."},
}


class NewHold(BaseModel):
    """A hold to keep."""

    test: str = Field(examples=["hold-front"])
    seconds: Annotated[float, Field(gt=0, le=3600)]
    reached_cap: bool = Field(False, description="She was stopped; the shape had not broken.")
    token: str | None = Field(None, max_length=64, description="Sent twice, it is kept once.")


class NewNote(BaseModel):
    """A note to keep."""

    what: str = Field(description="`remark`, `pain` or another key of the catalogue's referrals.")
    text: str = Field("", max_length=4000)
    noted_on: date | None = Field(None, description="Today where left out.")
    token: str | None = Field(None, max_length=64, description="Sent twice, it is kept once.")


def _judged(desk: Desk, tx: Tx, view: ScreenView) -> dict[str, Any]:
    judge = desk.app.judge_screen
    return findings_to_json(judge.find(judge.read(tx, view), view))


@router.get("/gymnasts/{gymnast_id}/findings", response_model=FindingsJson, responses=_NOT_THERE)
def read_findings(desk: AtDesk, gymnast_id: PathId) -> dict[str, Any]:
    """Return the findings of a gymnast's latest screen, as they are now."""
    with desk.app.records.reading() as tx:
        screens = tx.gymnasts.view(gymnast_id, screens=1).screens
        if not screens:
            raise NotThereError("screen of gymnast", gymnast_id)
        return _judged(desk, tx, screens[0])


@router.get("/gymnasts/{gymnast_id}/screens", response_model=ScreensJson, responses=_NOT_THERE)
def read_screens(desk: AtDesk, gymnast_id: PathId) -> ScreensJson:
    """Return a gymnast's screens, the latest first, without what is in them."""
    with desk.app.records.reading() as tx:
        view = tx.gymnasts.view(gymnast_id, screens=500)
    return ScreensJson(
        gymnast_id=gymnast_id, screens=[short_to_json(screen) for screen in view.screens]
    )


@router.get("/screens/{screen_id}", response_model=ScreenJson, responses=_NOT_THERE)
def read_screen(desk: AtDesk, screen_id: PathId) -> ScreenJson:
    """Return a screen with its photos, holds and findings."""
    with desk.app.records.reading() as tx:
        view = tx.screens.view(screen_id)
        return screen_to_json(view, _judged(desk, tx, view))


@router.post(
    "/screens/{screen_id}/holds", status_code=201, response_model=HoldJson, responses=_TAKEN
)
def add_hold(desk: AtDesk, coach: Coach, screen_id: PathId, new: NewHold) -> HoldJson | Response:
    """Keep a hold and judge the screen again; 204 where its token was sent before."""
    hold = desk.app.keep_holds().add(
        screen_id,
        test=new.test,
        seconds=new.seconds,
        reached_cap=new.reached_cap,
        author=coach,
        token=new.token,
    )
    return Response(status_code=204) if hold is None else hold_to_json(hold)


@router.delete("/holds/{hold_id}", status_code=204, responses=_NOT_THERE)
def remove_hold(desk: AtDesk, hold_id: PathId) -> Response:
    """Remove a hold that was entered by mistake and judge its screen again."""
    desk.app.keep_holds().remove(hold_id)
    return Response(status_code=204)


@router.get("/gymnasts/{gymnast_id}/notes", response_model=list[NoteJson], responses=_NOT_THERE)
def read_notes(desk: AtDesk, gymnast_id: PathId) -> list[NoteJson]:
    """Return a gymnast's notes, closed ones too."""
    with desk.app.records.reading() as tx:
        tx.gymnasts.get(gymnast_id)
        return [note_to_json(note) for note in tx.gymnasts.notes(gymnast_id)]


@router.post(
    "/gymnasts/{gymnast_id}/notes", status_code=201, response_model=NoteJson, responses=_TAKEN
)
def add_note(desk: AtDesk, coach: Coach, gymnast_id: PathId, new: NewNote) -> NoteJson | Response:
    """Keep a remark or a sign; a sign stops tests. 204 where its token was sent before."""
    today = desk.today()
    note = desk.app.keep_notes().add(
        gymnast_id,
        what=new.what,
        text=new.text,
        noted_on=new.noted_on or today,
        author=coach,
        today=today,
        token=new.token,
    )
    return Response(status_code=204) if note is None else note_to_json(note)


@router.post("/notes/{note_id}/close", response_model=NoteJson, responses=_TAKEN)
def close_note(desk: AtDesk, note_id: PathId) -> NoteJson:
    """Say that a note holds no more from today on."""
    return note_to_json(desk.app.keep_notes().close(note_id, closed_on=desk.today()))


@router.post("/notes/{note_id}/open", response_model=NoteJson, responses=_TAKEN)
def open_note(desk: AtDesk, note_id: PathId) -> NoteJson:
    """Say that a note holds again."""
    return note_to_json(desk.app.keep_notes().open_again(note_id))
