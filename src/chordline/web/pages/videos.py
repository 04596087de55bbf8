"""One video: its line in step with it, where it broke, and the form that measures it."""

from dataclasses import fields
from typing import Annotated, Any

from fastapi import APIRouter, Form, Request
from starlette.responses import RedirectResponse, Response

from chordline.application.club.keep_videos import AskedOfVideo
from chordline.application.club.whose import find_meant
from chordline.application.findings_words import upper_first
from chordline.conventions import Side
from chordline.errors import NotThereError, RefusedInputError
from chordline.web.api.videos import video_json
from chordline.web.desk import AtDesk, Desk
from chordline.web.forms import go_to, read_day, read_number
from chordline.web.ids import PathId
from chordline.web.photo_page import label_of
from chordline.web.rendering import render
from chordline.web.video_page import read_video_page

router = APIRouter()

_SIDES: dict[str, Side] = {"left": "left", "right": "right"}
#: What the form of a video whose file is gone can still change.
_REFILED = frozenset(("gymnast_id", "day"))
_ALL = frozenset(one.name for one in fields(AskedOfVideo)) - {"given", "front"}


@router.get("/videos/{video_id}")
def show_video(request: Request, video_id: PathId, desk: AtDesk) -> Response:
    """Show a video."""
    return _page(request, desk, video_id)


@router.post("/videos/{video_id}/measure")
def measure_video(
    request: Request,
    video_id: PathId,
    desk: AtDesk,
    *,
    gymnast: Annotated[str, Form(max_length=300)] = "",
    test: Annotated[str, Form(max_length=100)] = "",
    day: Annotated[str, Form(max_length=20)] = "",
    near_side: Annotated[str, Form(max_length=10)] = "",
    person: Annotated[str, Form(max_length=20)] = "",
    from_s: Annotated[str, Form(max_length=20)] = "",
    to_s: Annotated[str, Form(max_length=20)] = "",
    keep_file: Annotated[str, Form(max_length=4)] = "",
) -> Response:
    """Measure a video as the form says, or move it to another gymnast or day."""
    said = {
        "gymnast": gymnast,
        "test": test,
        "day": day,
        "near_side": near_side,
        "person": person,
        "from_s": from_s,
        "to_s": to_s,
        "keep_file": keep_file,
    }
    try:
        desk.app.keep_videos().ask(video_id, _asked(desk, video_id, said), today=desk.today())
    except NotThereError:
        raise
    except RefusedInputError as error:
        return _page(request, desk, video_id, fault=str(error), said=said)
    desk.measuring.wake()
    return go_to(f"/videos/{video_id}")


@router.post("/videos/{video_id}/cancel")
def stop_measuring(video_id: PathId, desk: AtDesk) -> RedirectResponse:
    """Stop measuring; what was read so far is kept."""
    desk.app.keep_videos().call_off(video_id)
    return go_to(f"/videos/{video_id}")


@router.post("/videos/{video_id}/drop-file")
def drop_file(video_id: PathId, desk: AtDesk) -> RedirectResponse:
    """Delete the file; what was read off it stays."""
    desk.app.keep_videos().drop_file(video_id)
    return go_to(f"/videos/{video_id}", "The file is gone; its line and its seconds stay.")


@router.post("/videos/{video_id}/out")
def take_video_out(video_id: PathId, desk: AtDesk) -> RedirectResponse:
    """Remove a video for good; sent twice, it is out all the same."""
    try:
        with desk.app.records.reading() as tx:
            screen_id = tx.videos.get(video_id).said.screen_id
        desk.app.keep_videos().take_out(video_id)
    except NotThereError:
        return go_to("/look", "This video is out already.")
    desk.app.pictures.forget()
    home = "/look" if screen_id is None else f"/screens/{screen_id}"
    return go_to(home, "The video is out, with its line and its hold.")


def _asked(desk: Desk, video_id: int, said: dict[str, str]) -> AskedOfVideo:
    """Return what a form asks for."""
    with desk.app.records.reading() as tx:
        video = tx.videos.get(video_id)
        owner = None
        if video.said.screen_id is not None:
            owner = tx.gymnasts.get(tx.screens.get(video.said.screen_id).gymnast_id)
        text = said["gymnast"].strip()
        if owner is not None and text == label_of(owner):  # two may have one name
            her = owner
        elif text:
            her = find_meant(tx.gymnasts, desk.club.id, text)
        else:
            raise RefusedInputError("say whose video it is: her card number or her name")
    person = read_number(said["person"], of="person", whole=True)
    if person is not None and not 1 <= person <= 99:
        raise RefusedInputError("persons are counted from the left, from 1")
    return AskedOfVideo(
        given=_ALL if video.content_key is not None else _REFILED,
        gymnast_id=her.id,
        test=said["test"] or None,
        day=read_day(said["day"], of="day"),
        near_side=_SIDES.get(said["near_side"]),
        person=None if person is None else int(person),
        from_s=_second(said["from_s"], of="from"),
        to_s=_second(said["to_s"], of="to"),
        keep_file=said["keep_file"] != "0",
    )


def _second(text: str, *, of: str) -> float | None:
    second = read_number(text, of=of)
    if second is not None and second < 0.0:
        raise RefusedInputError(f"{of}: a video begins at 0 seconds")
    return second


def _page(
    request: Request,
    desk: Desk,
    video_id: int,
    *,
    fault: str = "",
    said: dict[str, str] | None = None,
) -> Response:
    with desk.app.records.reading() as tx:
        video = video_json(desk, tx, tx.videos.get(video_id))
        page = read_video_page(tx, video, desk.app.catalogue)
    shown: dict[str, Any] = {
        "page": page,
        "filled": said or page.filled,
        "fault": upper_first(fault),
        "tests": desk.app.catalogue.tests,
    }
    here = "look" if page.video.screen_id is None else "squad"
    return render(request, "video.html", here=here, status=422 if fault else 200, **shown)
