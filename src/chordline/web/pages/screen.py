"""One screen: its photos in battery order, what is still possible, its holds."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Annotated

from fastapi import APIRouter, Form, Request
from starlette.responses import HTMLResponse, Response

from chordline.application.club.her_holds import held_tests
from chordline.application.club.ports import Tx
from chordline.application.club.records import GymnastRecord
from chordline.application.club.views import GymnastQuery
from chordline.catalogue.schema import Catalogue
from chordline.errors import NotThereError, RefusedInputError
from chordline.web.access_offers import sees_pictures_of
from chordline.web.desk import AtDesk, Coach, Desk
from chordline.web.drawings import MARKS, mark_use
from chordline.web.forms import go_to, read_number
from chordline.web.her_tests import ScreenShown, bring_up_to_date, read_shown
from chordline.web.ids import PathId
from chordline.web.rendering import render
from chordline.web.video_list import holds_of_screen, videos_of_screen

router = APIRouter()

#: So many of those screened last are looked through for who was screened on the same day.
_LOOKED_THROUGH = 200


@dataclass(frozen=True)
class StillPossible:
    """A test of the battery that the screen lacks; `stopped` names the sign that forbids it."""

    title: str
    how: str
    stopped: str


@dataclass(frozen=True)
class Neighbours:
    """Who was screened on the same day, before and after her by card."""

    before: GymnastRecord | None
    after: GymnastRecord | None


@router.get("/screens/{screen_id}")
def show_screen(request: Request, desk: AtDesk, screen_id: PathId) -> HTMLResponse:
    """Show a screen."""
    return _page(request, desk, screen_id)


def _page(
    request: Request,
    desk: Desk,
    screen_id: int,
    *,
    problem: str = "",
    hold: dict[str, str] | None = None,
) -> HTMLResponse:
    catalogue = desk.app.catalogue
    with desk.app.records.reading() as tx:
        view = tx.screens.view(screen_id)
        her = tx.gymnasts.get(view.screen.gymnast_id)
        shown = read_shown(desk, tx, view, her)
        neighbours = _neighbours(tx, her, view.screen.screened_on)
        holds = holds_of_screen(tx, view.holds, catalogue)
        videos = videos_of_screen(tx, her.club_id, screen_id, catalogue)
        pictures_shown = sees_pictures_of(request, tx, her.id)
    bring_up_to_date(desk, shown)
    return render(
        request,
        "screen.html",
        here="squad",
        status=422 if problem else 200,
        her=her,
        shown=shown,
        screen=view.screen,
        missing=still_possible(shown, catalogue),
        holds=holds,
        videos=videos,
        held_tests=[(test, catalogue.tests[test].title) for test in held_tests(catalogue)],
        neighbours=neighbours,
        battery_size=len(catalogue.tests),
        pictures_shown=pictures_shown,
        marks=MARKS,
        mark_use=mark_use,
        problem=problem,
        hold=hold or {"test": "", "seconds": "", "stopped": ""},
    )


def still_possible(shown: ScreenShown, catalogue: Catalogue) -> tuple[StillPossible, ...]:
    """Return the tests that the screen lacks, in the order of the battery."""
    done = {one.photo.test for one in (*shown.tests, *shown.others)}
    done |= {one.test for one in shown.view.holds}
    stopped = {test: stop.label for stop in shown.found.stops for test in stop.tests}
    return tuple(
        StillPossible(test.title, test.how, stopped.get(name, ""))
        for name, test in catalogue.tests.items()
        if name not in done
    )


def _neighbours(tx: Tx, her: GymnastRecord, day: date) -> Neighbours:
    query = GymnastQuery(her.club_id, sort="last_screened", descending=True, limit=_LOOKED_THROUGH)
    rows = tx.gymnasts.page(query).rows
    same_day = [one.gymnast for one in rows if one.last_screened_on == day]
    return _beside(her, sorted(same_day, key=_by_card))


def _beside(her: GymnastRecord, others: Sequence[GymnastRecord]) -> Neighbours:
    ids = [one.id for one in others]
    if her.id not in ids:
        return Neighbours(None, None)
    at = ids.index(her.id)
    return Neighbours(
        before=others[at - 1] if at > 0 else None,
        after=others[at + 1] if at + 1 < len(others) else None,
    )


def _by_card(her: GymnastRecord) -> tuple[bool, int, str, int]:
    return her.card is None, her.card or 0, her.name, her.id


@router.post("/screens/{screen_id}/holds")
def add_hold(
    request: Request,
    desk: AtDesk,
    coach: Coach,
    screen_id: PathId,
    *,
    test: Annotated[str, Form(max_length=60)] = "",
    seconds: Annotated[str, Form(max_length=20)] = "",
    stopped: Annotated[str, Form(max_length=8)] = "",
    token: Annotated[str, Form(max_length=64)] = "",
) -> Response:
    """Keep a hold."""
    try:
        desk.app.keep_holds().add(
            screen_id,
            test=test,
            seconds=read_number(seconds, of="seconds") or 0.0,
            reached_cap=bool(stopped),
            author=coach,
            token=token or None,
        )
    except NotThereError:
        raise
    except RefusedInputError as error:
        kept = {"test": test, "seconds": seconds, "stopped": stopped}
        return _page(request, desk, screen_id, problem=str(error), hold=kept)
    return go_to(f"/screens/{screen_id}", "The hold is kept, and the screen judged with it.")


@router.post("/screens/{screen_id}/holds/{hold_id}/remove")
def remove_hold(desk: AtDesk, screen_id: PathId, hold_id: PathId) -> Response:
    """Remove a hold; one that is gone already is no fault."""
    try:
        screen_id = desk.app.keep_holds().remove(hold_id)
    except NotThereError:
        return go_to(f"/screens/{screen_id}", "This hold was removed already.")
    return go_to(f"/screens/{screen_id}", "The hold is removed.")
