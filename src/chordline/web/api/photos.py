"""Photos and their marks."""

from datetime import date
from typing import Annotated, Any

from fastapi import APIRouter, Body, Query, Request
from starlette.concurrency import run_in_threadpool
from starlette.requests import ClientDisconnect
from starlette.responses import Response

from chordline.application.club.move_photo import Said
from chordline.application.club.records import StaleMarksError
from chordline.application.club.take_in import Incoming
from chordline.application.club.whose import find_meant
from chordline.application.findings_words import upper_first
from chordline.errors import MarksError, PictureError
from chordline.web.api.photo_json import (
    FiledJson,
    MarksJson,
    MarksToSave,
    Owner,
    PhotoChange,
    PhotoJson,
    PhotoViewJson,
    QueueJson,
    SavedMarks,
    marks_to_json,
    photo_to_json,
    queued_to_json,
    view_to_json,
)
from chordline.web.desk import AtDesk, Coach, Desk
from chordline.web.ids import PathId, QueryId
from chordline.web.problems import tell_problem
from chordline.web.uploads import photo_name, read_body

router = APIRouter(tags=["photos"])

_NOT_THERE: dict[int | str, dict[str, Any]] = {404: {"description": "There is no such photo."}}
_RAW_BODY = {
    "requestBody": {
        "required": True,
        "description": "The picture's bytes: JPEG, PNG, HEIC or WebP.",
        "content": {"image/*": {"schema": {"type": "string", "format": "binary"}}},
    }
}


@router.post(
    "/photos",
    status_code=201,
    response_model=FiledJson,
    openapi_extra=_RAW_BODY,
    responses={
        200: {"model": FiledJson, "description": "It was there already; nothing changed."},
        413: {"description": "Too large."},
        422: {"description": "No picture, no such test or an impossible day; the reason is told."},
    },
)
async def take_in_photo(
    request: Request,
    response: Response,
    desk: AtDesk,
    *,
    name: Annotated[str, Query(max_length=1000, description="The file's own name.")] = "",
    day: Annotated[date | None, Query(description="Day of the screen; today.")] = None,
    test: Annotated[str | None, Query(description="Told by the name where left out.")] = None,
    gymnast_id: QueryId = None,
) -> FiledJson | Response:
    """Keep one photo and queue it for measuring; one that is cut off leaves nothing behind."""
    try:
        content = await read_body(request)
    except ClientDisconnect:  # nobody is there to be answered, and nothing was kept
        return tell_problem(request, 400, "The photo arrived only in part; send it again.")
    incoming = Incoming(
        name=photo_name(request, name),
        content=content,
        day=day or desk.today(),
        gymnast_id=gymnast_id,
        test=test or None,
    )
    try:
        filed = await run_in_threadpool(take_in, desk, incoming)
    except PictureError as error:  # its name stands beside the answer already
        return tell_problem(request, 422, f"This file {error.reason}.")
    response.status_code = 200 if filed.already_there else 201
    return filed


def take_in(desk: Desk, incoming: Incoming) -> FiledJson:
    """Take a photo in, wake the worker and return what came of it."""
    filed = desk.app.take_in_photo()(desk.club.id, incoming, today=desk.today())
    desk.measuring.wake()
    with desk.app.records.reading() as tx:
        photo = photo_to_json(tx, filed.photo)
    return FiledJson(**photo.model_dump(), already_there=filed.already_there)


@router.get("/photos/{photo_id}", responses=_NOT_THERE)
def tell_photo(photo_id: PathId, desk: AtDesk) -> PhotoViewJson:
    """Return a photo with its standing marks and the measurement that counts."""
    with desk.app.records.reading() as tx:
        return view_to_json(tx, tx.photos.view(photo_id))


@router.patch("/photos/{photo_id}", responses=_NOT_THERE)
def change_photo(
    photo_id: PathId, change: Annotated[PhotoChange, Body()], desk: AtDesk
) -> PhotoJson:
    """Say whose photo it is, which test, which side is near; measured again where that matters."""
    given = change.model_fields_set
    with desk.app.records.reading() as tx:
        now = tx.photos.get(photo_id)
        owner = None if now.screen_id is None else tx.screens.get(now.screen_id).gymnast_id
    said = Said(
        gymnast_id=change.gymnast_id if "gymnast_id" in given else owner,
        test=change.test if "test" in given else now.test,
        day=change.day,
        near_side=change.near_side if "near_side" in given else now.near_side,
        front=change.front if "front" in given else now.front,
        person=change.person if "person" in given else now.person,
    )
    photo = desk.app.move_photo()(photo_id, said, today=desk.today())
    desk.measuring.wake()
    with desk.app.records.reading() as tx:
        return photo_to_json(tx, photo)


@router.delete("/photos/{photo_id}", status_code=204, responses=_NOT_THERE)
def take_out_photo(photo_id: PathId, desk: AtDesk) -> Response:
    """Remove a photo with its picture, marks and measurements, for good."""
    take_out(desk, photo_id)
    return Response(status_code=204)


def take_out(desk: Desk, photo_id: int) -> None:
    """Remove a photo, also from the pictures that are ready to be shown."""
    desk.app.move_photo().take_out(photo_id)
    desk.app.pictures.forget()


@router.post("/photos/{photo_id}/measure", responses=_NOT_THERE)
def measure_photo_again(photo_id: PathId, desk: AtDesk) -> PhotoJson:
    """Queue a photo for measuring as it stands."""
    photo = desk.app.move_photo().measure_again(photo_id)
    desk.measuring.wake()
    with desk.app.records.reading() as tx:
        return photo_to_json(tx, photo)


@router.get("/photos/{photo_id}/marks", responses=_NOT_THERE)
def tell_marks(photo_id: PathId, desk: AtDesk) -> list[MarksJson]:
    """Return every version of a photo's marks, the first first; those set aside too."""
    with desk.app.records.reading() as tx:
        tx.photos.get(photo_id)
        return [marks_to_json(one) for one in tx.photos.marks_history(photo_id)]


@router.put(
    "/photos/{photo_id}/marks",
    response_model=SavedMarks,
    responses={
        **_NOT_THERE,
        409: {
            "description": "Somebody else marked it meanwhile: `current` has the standing marks "
            "(version, landmarks, near_side, author); those sent are kept in the history."
        },
        422: {"description": "Marks that cannot be measured: `faults` has every fault."},
    },
)
def save_marks(
    request: Request,
    photo_id: PathId,
    marks: Annotated[MarksToSave, Body()],
    desk: AtDesk,
    coach: Coach,
) -> SavedMarks | Response:
    """Keep a photo's marks, measure it from them, and, where confirmed, trust it."""
    default_sd_px = desk.app.catalogue.setting("hand_mark_sd_px")
    try:
        view = desk.app.check_photo()(
            photo_id,
            marks.to_marks(default_sd_px=default_sd_px),
            base_version=marks.version,
            confirmed=marks.confirmed,
            author=coach,
        )
    except StaleMarksError as error:
        now = marks_to_json(error.current)
        return tell_problem(
            request,
            409,
            f"{upper_first(str(error))}.",
            current=now.model_dump(
                mode="json", include={"version", "landmarks", "near_side", "author"}
            ),
        )
    except MarksError as error:
        told = "; ".join(error.faults)
        faults = [{"at": "landmarks", "why": fault} for fault in error.faults]
        return tell_problem(request, 422, f"{told}.", faults=faults)
    photo = view.photo
    return SavedMarks(
        version=photo.marks_version,
        state=photo.state,
        reason=photo.reason,
        checked_by=photo.checked_by,
        measurement=None if view.measurement is None else dict(view.measurement.record),
    )


@router.get("/meant", responses={422: {"description": "That means nobody, or several."}})
def tell_meant(desk: AtDesk, text: Annotated[str, Query(min_length=1, max_length=300)]) -> Owner:
    """Return the gymnast whom a card number or a name means when a photo is filed."""
    with desk.app.records.reading() as tx:
        her = find_meant(tx.gymnasts, desk.club.id, text)
    return Owner(id=her.id, name=her.name, card=her.card)


@router.get("/look")
def tell_queue(
    desk: AtDesk,
    after: Annotated[str | None, Query(description="`next` of the page before.")] = None,
    limit: Annotated[int, Query(ge=1, le=200)] = 50,
) -> QueueJson:
    """Return the photos that need a look, worst trust first."""
    with desk.app.records.reading() as tx:
        page = tx.photos.queue(desk.club.id, after=after, limit=limit)
    return QueueJson(
        photos=[queued_to_json(row) for row in page.rows], next=page.next, total=page.total
    )
