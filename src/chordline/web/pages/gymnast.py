"""One gymnast: her pictures in pairs, what limits her and why, her history, her record."""

from typing import Annotated

from fastapi import APIRouter, Form, Query, Request
from starlette.responses import HTMLResponse, Response

from chordline.application.club.views import GymnastView, ScreenView
from chordline.errors import NotThereError, RefusedInputError
from chordline.web.access_offers import sees_pictures_of
from chordline.web.desk import AtDesk, Coach, Desk
from chordline.web.drawings import MARKS, mark_use
from chordline.web.forms import go_to, read_day
from chordline.web.her_growth import show_growth
from chordline.web.her_history import History, read_history
from chordline.web.her_tests import bring_up_to_date, read_shown
from chordline.web.her_words import (
    age_in_words,
    consent_in_words,
    latest_sizes,
    pictures_that_go,
)
from chordline.web.ids import PathId, QueryId
from chordline.web.pages import gymnast_erase, gymnast_export, gymnast_record
from chordline.web.rendering import render
from chordline.web.video_list import videos_of_screen

router = APIRouter()
router.include_router(gymnast_record.router)
router.include_router(gymnast_erase.router)
router.include_router(gymnast_export.router)

#: So many screens are looked at for the history; more on demand.
_SCREENS = 8
_ALL_SCREENS = 200

Text = Annotated[str, Form(max_length=4000)]
Token = Annotated[str, Form(max_length=64)]


@router.get("/gymnasts/{gymnast_id}")
def show_gymnast(
    request: Request,
    desk: AtDesk,
    gymnast_id: PathId,
    *,
    screen: QueryId = None,
    history: Annotated[str, Query(max_length=8)] = "",
) -> HTMLResponse:
    """Show a gymnast's screen, the latest where none is asked for."""
    return _page(request, desk, gymnast_id, screen=screen, whole_history=history == "all")


def _page(
    request: Request,
    desk: Desk,
    gymnast_id: int,
    *,
    screen: int | None = None,
    whole_history: bool = False,
    problem: str = "",
    note: dict[str, str] | None = None,
) -> HTMLResponse:
    catalogue, today = desk.app.catalogue, desk.today()
    with desk.app.records.reading() as tx:
        view = tx.gymnasts.view(gymnast_id, screens=_ALL_SCREENS if whole_history else _SCREENS)
        chosen = _choose(view, screen)
        if chosen is None and screen is not None:
            chosen = tx.screens.view(screen)
            if chosen.screen.gymnast_id != gymnast_id:
                raise NotThereError("screen", screen)
        shown = None if chosen is None else read_shown(desk, tx, chosen, view.gymnast)
        videos = (
            []
            if chosen is None
            else videos_of_screen(tx, view.gymnast.club_id, chosen.screen.id, catalogue)
        )
        pictures_shown = sees_pictures_of(request, tx, gymnast_id)
    if shown is not None:
        bring_up_to_date(desk, shown)
    her = view.gymnast
    return render(
        request,
        "gymnast.html",
        here="squad",
        status=422 if problem else 200,
        her=her,
        view=view,
        shown=shown,
        videos=videos,
        screens=[one.screen for one in view.screens],
        history=_history(view, desk),
        growth=show_growth(her, view.sizes, day=today, growth=desk.app.growth),
        more_history=len(view.screens) == _SCREENS and not whole_history,
        age="" if her.birth_date is None else age_in_words(her.birth_date, today),
        sizes=latest_sizes(view.sizes),
        consent=consent_in_words(her.consent, today, desk.app.consent_rules),
        going=pictures_that_go(desk.app.apply_consent().to_come(gymnast_id, today)),
        open_notes=[one for one in reversed(view.notes) if one.closed_on is None],
        closed_notes=[one for one in reversed(view.notes) if one.closed_on is not None],
        referrals=catalogue.referrals,
        problem=problem,
        battery_size=len(catalogue.tests),
        pictures_shown=pictures_shown,
        marks=MARKS,
        mark_use=mark_use,
        note=note or {"what": "remark", "text": "", "noted_on": today.isoformat()},
    )


def _choose(view: GymnastView, screen_id: int | None) -> ScreenView | None:
    """Return the screen that is asked for, or the latest; None where it is not among these."""
    if screen_id is None:
        return view.screens[0] if view.screens else None
    return next((one for one in view.screens if one.screen.id == screen_id), None)


def _history(view: GymnastView, desk: Desk) -> History:
    return read_history(view.screens, desk.app.catalogue)


@router.post("/gymnasts/{gymnast_id}/notes")
def add_note(
    request: Request,
    desk: AtDesk,
    coach: Coach,
    gymnast_id: PathId,
    *,
    what: Annotated[str, Form(max_length=60)],
    text: Text = "",
    noted_on: Annotated[str, Form(max_length=20)] = "",
    token: Token = "",
) -> Response:
    """Keep a remark or a sign."""
    today = desk.today()
    try:
        note = desk.app.keep_notes().add(
            gymnast_id,
            what=what,
            text=text,
            noted_on=read_day(noted_on, of="the day") or today,
            author=coach,
            today=today,
            token=token or None,
        )
    except NotThereError:
        raise
    except RefusedInputError as error:
        kept = {"what": what, "text": text, "noted_on": noted_on}
        return _page(request, desk, gymnast_id, problem=str(error), note=kept)
    said = "Noted."
    referral = desk.app.catalogue.referrals.get(what)
    if note is not None and referral is not None:
        said = f"Noted. {referral.advice}"
    return go_to(f"/gymnasts/{gymnast_id}", said)


@router.post("/notes/{note_id}/close")
def close_note(desk: AtDesk, note_id: PathId, token: Token = "") -> Response:
    """Say that a note holds no more."""
    note = desk.app.keep_notes().close(note_id, closed_on=desk.today(), token=token or None)
    return go_to(f"/gymnasts/{note.gymnast_id}", "Closed from today on.")


@router.post("/notes/{note_id}/open")
def open_note(desk: AtDesk, note_id: PathId, token: Token = "") -> Response:
    """Say that a note holds again."""
    note = desk.app.keep_notes().open_again(note_id, token=token or None)
    return go_to(f"/gymnasts/{note.gymnast_id}", "Open again.")


@router.post("/gymnasts/{gymnast_id}/archive")
def archive(desk: AtDesk, gymnast_id: PathId, token: Token = "") -> Response:
    """Put her away."""
    her = desk.app.keep_her().archive(gymnast_id, token=token or None)
    return go_to(f"/gymnasts/{gymnast_id}", f"{her.name} is put away; her records stay.")


@router.post("/gymnasts/{gymnast_id}/bring-back")
def bring_back(desk: AtDesk, gymnast_id: PathId, token: Token = "") -> Response:
    """Bring her back."""
    her = desk.app.keep_her().bring_back(gymnast_id, token=token or None)
    return go_to(f"/gymnasts/{gymnast_id}", f"{her.name} is in the squad again.")


@router.get("/gymnasts/{gymnast_id}/screen")
def latest_screen(desk: AtDesk, gymnast_id: PathId) -> Response:
    """Go to her latest screen."""
    with desk.app.records.reading() as tx:
        screens = tx.gymnasts.view(gymnast_id, screens=1).screens
    address = f"/screens/{screens[0].screen.id}" if screens else f"/gymnasts/{gymnast_id}"
    return go_to(address)
