"""Screening: photos and videos come in, progress is shown."""

from dataclasses import dataclass
from datetime import date
from typing import Annotated

from fastapi import APIRouter, File, Form, Request, UploadFile
from starlette.exceptions import HTTPException
from starlette.responses import RedirectResponse, Response

from chordline.adapters.media.photo_reader import MAX_FILE_BYTES
from chordline.adapters.media.video_kind import HEAD_BYTES, container_of
from chordline.application.club.records import GymnastRecord
from chordline.application.club.take_in import Incoming
from chordline.application.club.take_in_video import IncomingVideo
from chordline.application.club.whose import find_meant
from chordline.application.findings_words import upper_first
from chordline.errors import RefusedInputError
from chordline.web.api.photos import take_in
from chordline.web.api.progress import read_progress
from chordline.web.desk import AtDesk, Desk
from chordline.web.forms import go_to, read_day
from chordline.web.ids import QueryId
from chordline.web.photo_page import label_of
from chordline.web.rendering import render

router = APIRouter()


@dataclass(frozen=True)
class Came:
    """What became of one file of a plain form: its name, its page, or why it was refused."""

    name: str
    page: str | None
    told: str


@router.get("/screening")
def show_screening(
    request: Request,
    desk: AtDesk,
    test: str = "",
    gymnast: QueryId = None,
    day: str = "",
) -> Response:
    """Show the page in the gym."""
    her = ""
    if gymnast is not None:
        with desk.app.records.reading() as tx:
            her = label_of(tx.gymnasts.get(gymnast))
    chosen = {"test": test, "gymnast": her, "day": day or desk.today().isoformat()}
    return _page(request, desk, chosen)


@router.post("/screening")
def take_in_plain_form(
    request: Request,
    desk: AtDesk,
    photos: Annotated[list[UploadFile | str], File()],
    day: Annotated[str, Form(max_length=20)] = "",
    test: Annotated[str, Form(max_length=100)] = "",
    gymnast: Annotated[str, Form(max_length=300)] = "",
) -> Response:
    """Take files in from a browser without scripts; the same form sent twice changes nothing."""
    chosen = {"test": test, "gymnast": gymnast, "day": day}
    given = [one for one in photos if not isinstance(one, str) and one.filename]
    if not given:
        return _page(request, desk, chosen, fault="No file was chosen; choose some first.")
    try:
        her = _meant(desk, gymnast)
        of_day = read_day(day, of="day") or desk.today()
    except RefusedInputError as error:
        return _page(request, desk, chosen, fault=f"{error}.")
    came = [_take_one(desk, one, of_day, test, her) for one in given]
    return _page(request, desk, chosen, came=came)


@router.post("/screening/measuring")
def steer_measuring(desk: AtDesk, do: Annotated[str, Form()]) -> RedirectResponse:
    """Pause measuring or go on, from a browser without scripts."""
    if do == "pause":
        desk.measuring.pause()
        return go_to("/screening", "Measuring is paused; what waits is kept.")
    desk.measuring.go_on()
    return go_to("/screening", "Measuring goes on.")


def _meant(desk: Desk, text: str) -> GymnastRecord | None:
    if not text.strip():
        return None
    with desk.app.records.reading() as tx:
        return find_meant(tx.gymnasts, desk.club.id, text)


def _take_one(
    desk: Desk, file: UploadFile, day: date, test: str, her: GymnastRecord | None
) -> Came:
    name = file.filename or "photo"
    head = file.file.read(HEAD_BYTES)
    file.file.seek(0)
    if container_of(head) is not None:
        return _take_video(desk, file, day, test, her)
    if (file.size or 0) > MAX_FILE_BYTES:
        return Came(name, None, f"too large; at most {MAX_FILE_BYTES / 1e6:.0f} MB can be read")
    content = file.file.read()
    incoming = Incoming(
        name, content, day, gymnast_id=None if her is None else her.id, test=test or None
    )
    try:
        filed = take_in(desk, incoming)
    except RefusedInputError as error:
        return Came(name, None, str(error).removeprefix(f"{name}: "))
    told = "it was there already" if filed.already_there else "filed"
    return Came(name, f"/photos/{filed.id}", told)


def _take_video(
    desk: Desk, file: UploadFile, day: date, test: str, her: GymnastRecord | None
) -> Came:
    name = file.filename or "video"
    incoming = IncomingVideo(
        name, file.file, day, gymnast_id=None if her is None else her.id, test=test or None
    )
    try:
        filed = desk.app.take_in_video()(desk.club.id, incoming, today=desk.today())
    except RefusedInputError as error:
        return Came(name, None, str(error).removeprefix(f"{name}: "))
    told = "it was there already" if filed.already_there else "here; trim and measure it"
    return Came(name, f"/videos/{filed.video.id}", told)


def _page(
    request: Request,
    desk: Desk,
    chosen: dict[str, str],
    *,
    came: list[Came] | None = None,
    fault: str = "",
) -> Response:
    tests = desk.app.catalogue.tests
    if chosen["test"] and chosen["test"] not in tests:
        raise HTTPException(422, f"no test is called '{chosen['test']}'; go back and choose one")
    with desk.app.records.reading() as tx:
        groups = tx.clubs.groups(desk.club.id)
    data = {
        "mostBytes": MAX_FILE_BYTES,
        "tests": [
            {"id": id, "title": one.title, "how": one.how, "care": one.care}
            for id, one in tests.items()
        ],
    }
    return render(
        request,
        "screening.html",
        here="screening",
        status=422 if fault else 200,
        chosen=chosen,
        came=came,
        fault=upper_first(fault),
        tests=tests,
        groups=groups,
        progress=read_progress(desk),
        data=data,
    )
