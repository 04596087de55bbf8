"""One photo: its marks in the editor, whose it is, which test."""

import logging
from typing import Annotated, Any

from fastapi import APIRouter, Form, Request
from starlette.exceptions import HTTPException
from starlette.responses import RedirectResponse, Response

from chordline.application.accounts.records import Signed
from chordline.application.club.move_photo import Said
from chordline.application.club.records import GymnastRecord, PhotoRecord
from chordline.application.club.whose import find_meant
from chordline.application.findings_words import upper_first
from chordline.conventions import Side
from chordline.errors import ChordlineError, NotThereError, RefusedInputError, WrongUseError
from chordline.web.api.photos import take_out
from chordline.web.desk import AtDesk, Desk
from chordline.web.forms import go_to, read_day
from chordline.web.ids import PathId, QueryId
from chordline.web.photo_page import EDITOR_PX, label_of, read_photo_page
from chordline.web.rendering import render

router = APIRouter()
_log = logging.getLogger(__name__)

#: Long sides in which pictures are shown [px]: thumbnails, cards, the editor.
SHOWN_PX = (480, 960, EDITOR_PX)


@router.get("/photos/{photo_id}/picture")
def show_picture(request: Request, photo_id: PathId, desk: AtDesk, px: int = EDITOR_PX) -> Response:
    """Return a picture as JPEG without metadata; for guests with the face hidden."""
    if px not in SHOWN_PX:
        sizes = ", ".join(map(str, SHOWN_PX))
        raise HTTPException(422, f"pictures are shown {sizes} pixels long, not {px}")
    with desk.app.records.reading() as tx:
        photo = tx.photos.get(photo_id)
    jpeg = desk.app.pictures.show(photo, max_px=px).jpeg
    signed: Signed | None = getattr(request.state, "signed", None)
    if signed is not None and signed.sees_only_what_may_be_shown:
        hidden = desk.app.without_face(photo_id, jpeg)
        if hidden is None:
            raise HTTPException(403, "the face cannot be hidden in this picture yet")
        jpeg = hidden
    # A browser that kept it would keep it unencrypted, on disk, and show it where it is locked.
    return Response(jpeg, media_type="image/jpeg", headers={"Cache-Control": "private, no-store"})


@router.get("/photos/{photo_id}")
def show_photo(
    request: Request,
    photo_id: PathId,
    desk: AtDesk,
    queue: bool = False,
    marks: QueryId = None,
) -> Response:
    """Show a photo with its marks, to be checked and moved."""
    return _page(request, desk, photo_id, queue=queue, marks=marks)


@router.post("/photos/{photo_id}")
def file_photo(
    request: Request,
    photo_id: PathId,
    desk: AtDesk,
    gymnast: Annotated[str, Form(max_length=300)] = "",
    test: Annotated[str, Form(max_length=100)] = "",
    day: Annotated[str, Form(max_length=20)] = "",
    person: Annotated[str, Form(max_length=20)] = "",
    near_side: Annotated[str, Form(max_length=10)] = "",
    queue: Annotated[bool, Form()] = False,
) -> Response:
    """File a photo as the coach says, and measure it."""
    said = {"gymnast": gymnast, "test": test, "day": day, "person": person, "near_side": near_side}
    try:
        photo = _move(desk, photo_id, said)
    except NotThereError:
        raise
    except RefusedInputError as error:
        return _page(request, desk, photo_id, queue=queue, fault=str(error), said=said)
    _measure_now(desk, photo)
    return go_to(_address(photo_id, queue=queue))


@router.post("/photos/{photo_id}/measure")
def measure_again(
    photo_id: PathId, desk: AtDesk, queue: Annotated[bool, Form()] = False
) -> RedirectResponse:
    """Measure a photo once more as it stands."""
    photo = desk.app.move_photo().measure_again(photo_id)
    _measure_now(desk, photo)
    return go_to(_address(photo_id, queue=queue), "Measured again.")


@router.post("/photos/{photo_id}/out")
def take_photo_out(
    photo_id: PathId, desk: AtDesk, queue: Annotated[bool, Form()] = False
) -> RedirectResponse:
    """Remove a photo for good; sent twice, it is out all the same."""
    try:
        with desk.app.records.reading() as tx:
            following = tx.photos.place(photo_id).next
        take_out(desk, photo_id)
    except NotThereError:
        return go_to("/look", "This photo is out already.")
    address = _address(following, queue=True) if queue and following is not None else "/look"
    return go_to(address, "The photo is out, with its marks and measurements.")


def _move(desk: Desk, photo_id: int, said: dict[str, str]) -> PhotoRecord:
    """File a photo as a form says."""
    club = desk.club
    with desk.app.records.reading() as tx:
        now = tx.photos.get(photo_id)
        owner = None
        if now.screen_id is not None:
            owner = tx.gymnasts.get(tx.screens.get(now.screen_id).gymnast_id)
        text = said["gymnast"].strip()
        her = _her(owner, text) or (find_meant(tx.gymnasts, club.id, text) if text else None)
    near = _near_side(said["near_side"])
    return desk.app.move_photo()(
        photo_id,
        Said(
            gymnast_id=None if her is None else her.id,
            test=said["test"] or None,
            # Without an owner there is no screen yet, and the day of the photo stays.
            day=None if her is None else read_day(said["day"], of="day"),
            near_side=near,
            front=now.front if near == now.near_side else None,
            person=_person(said["person"]),
        ),
        today=desk.today(),
    )


def _her(owner: GymnastRecord | None, text: str) -> GymnastRecord | None:
    """Return the owner where the form still says her: two may have one name."""
    return owner if owner is not None and text == label_of(owner) else None


def _person(text: str) -> int | None:
    if not text.strip():
        return None
    if not text.strip().isdigit() or not 1 <= int(text) <= 99:
        raise RefusedInputError(f"'{text}' is no number of a person; 1 is the leftmost")
    return int(text)


def _near_side(text: str) -> Side | None:
    if text not in ("", "left", "right"):
        raise WrongUseError("the near side is left or right")
    return {"left": "left", "right": "right"}.get(text)  # type: ignore[return-value]


def _measure_now(desk: Desk, photo: PhotoRecord) -> None:
    """Measure before others that wait: somebody looks at this one."""
    try:
        desk.app.measure_stored(photo.id)
    except ChordlineError:
        raise
    except Exception:  # the worker takes it up, and says in the records what failed
        _log.exception("measuring photo %d", photo.id)
        desk.measuring.wake()


def _address(photo_id: int, *, queue: bool) -> str:
    return f"/photos/{photo_id}{'?queue=1' if queue else ''}"


def _page(
    request: Request,
    desk: Desk,
    photo_id: int,
    *,
    queue: bool,
    marks: int | None = None,
    fault: str = "",
    said: dict[str, str] | None = None,
) -> Response:
    with desk.app.records.reading() as tx:
        page = read_photo_page(tx, desk, photo_id, queue=queue, marks=marks)
    shown: dict[str, Any] = {
        "page": page,
        "filled": said or page.filled,
        "fault": upper_first(fault),
        "tests": desk.app.catalogue.tests,
    }
    status = 422 if fault else 200
    return render(request, "photo.html", here="look", status=status, **shown)
