"""A photo, its marks and the queue as the JSON interface tells them."""

from datetime import date, datetime
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field

from chordline.application.club.ports import Tx
from chordline.application.club.records import MarksRecord, PhotoRecord
from chordline.application.club.views import PhotoView, QueueRow
from chordline.application.marks import HandMarks
from chordline.conventions import Front, Origin, Side
from chordline.core.body.measurement import Mark

Pixels = Annotated[float, Field(allow_inf_nan=False, ge=-1e6, le=1e6)]
_State = Literal["waiting", "measured", "needs_look", "refused"]
#: The largest id that a database holds.
LARGEST_ID = 2**31 - 1
#: More marks than any body has.
_MOST_MARKS = 400


class Owner(BaseModel):
    """Whose photo it is."""

    id: int
    name: str
    card: int | None


class PhotoJson(BaseModel):
    """A photo, without its picture.

    `reason` says why it needs a look or is refused; `marks_version` 0 = automatic landmarks;
    `picture` is None where the picture is not kept.
    """

    id: int
    name: str
    state: _State
    reason: str | None
    gymnast: Owner | None
    screen_id: int | None
    day: date | None
    test: str | None
    near_side: Side | None
    front: Front | None
    person: int | None
    marks_version: int
    checked_by: str | None
    size_bytes: int
    received_at: datetime
    picture: str | None


class FiledJson(PhotoJson):
    """A photo that came in, or was there already."""

    already_there: bool


class LandmarkJson(BaseModel):
    """One mark, in pixels of the upright photo."""

    x_px: Pixels
    y_px: Pixels
    sd_px: Annotated[float, Field(gt=0, le=1e5, allow_inf_nan=False)] | None = None
    origin: Origin = "hand"


class MarksToSave(BaseModel):
    """All marks of a photo as the coach leaves them; the keys of a marks file, and two more.

    `confirmed`: she said that they are right. `version`: what she began from, 0 = automatic
    landmarks.
    """

    model_config = ConfigDict(extra="ignore")

    near_side: Side | None = None
    front: Front | None = None
    landmarks: Annotated[dict[str, LandmarkJson], Field(min_length=1, max_length=_MOST_MARKS)]
    confirmed: bool = False
    version: Annotated[int, Field(ge=0, le=LARGEST_ID)]

    def to_marks(self, *, default_sd_px: float) -> HandMarks:
        """Return them as the use cases take them."""
        landmarks = {
            name: Mark(
                x_px=mark.x_px,
                y_px=mark.y_px,
                sd_px=default_sd_px if mark.sd_px is None else mark.sd_px,
                origin=mark.origin,
            )
            for name, mark in self.landmarks.items()
        }
        return HandMarks(self.near_side, self.front, landmarks)


class SavedMarks(BaseModel):
    """What became of marks: the version that stands now, and how the photo is measured."""

    version: int
    state: _State
    reason: str | None
    checked_by: str | None
    measurement: dict[str, Any] | None


class MarksJson(BaseModel):
    """One version of a photo's marks; `set_aside` = somebody else had been quicker."""

    version: int
    base_version: int
    author: str
    made_at: datetime
    set_aside: bool
    near_side: Side | None
    front: Front | None
    landmarks: dict[str, LandmarkJson]


class PhotoViewJson(BaseModel):
    """A photo with its standing marks and the measurement that counts."""

    photo: PhotoJson
    marks: MarksJson | None
    measurement: dict[str, Any] | None


class PhotoChange(BaseModel):
    """What the coach says of a photo; what is left out stays, null = to be found out."""

    model_config = ConfigDict(extra="forbid")

    gymnast_id: Annotated[int, Field(ge=1, le=LARGEST_ID)] | None = None
    test: str | None = None
    day: date | None = None
    near_side: Side | None = None
    front: Front | None = None
    person: Annotated[int, Field(ge=1, le=99)] | None = None


class QueuedJson(BaseModel):
    """A photo that needs a look."""

    id: int
    name: str
    state: _State
    reason: str | None
    gymnast: str | None
    test: str | None
    day: date | None


class QueueJson(BaseModel):
    """A page of photos that need a look, worst trust first; hand `next` back as `after`."""

    photos: list[QueuedJson]
    next: str | None
    total: int


def owner_and_day(
    tx: Tx, screen_id: int | None, taken_on: date | None
) -> tuple[Owner | None, date | None]:
    """Return whose screen a photo or video is filed under, and its day; else when it was taken."""
    if screen_id is None:
        return None, taken_on
    screen = tx.screens.get(screen_id)
    her = tx.gymnasts.get(screen.gymnast_id)
    return Owner(id=her.id, name=her.name, card=her.card), screen.screened_on


def photo_to_json(tx: Tx, photo: PhotoRecord) -> PhotoJson:
    """Return a photo with its owner."""
    owner, day = owner_and_day(tx, photo.screen_id, photo.taken_on)
    return PhotoJson(
        id=photo.id,
        name=photo.name,
        state=photo.state,
        reason=photo.reason,
        gymnast=owner,
        screen_id=photo.screen_id,
        day=day,
        test=photo.test,
        near_side=photo.near_side,
        front=photo.front,
        person=photo.person,
        marks_version=photo.marks_version,
        checked_by=photo.checked_by,
        size_bytes=photo.size_bytes,
        received_at=photo.received_at,
        picture=None if photo.content_key is None else f"/photos/{photo.id}/picture?px=1600",
    )


def marks_to_json(marks: MarksRecord) -> MarksJson:
    """Return one version of a photo's marks."""
    return MarksJson(
        version=marks.version,
        base_version=marks.base_version,
        author=marks.author,
        made_at=marks.made_at,
        set_aside=marks.set_aside,
        near_side=marks.marks.near_side,
        front=marks.marks.front,
        landmarks={
            name: LandmarkJson(x_px=one.x_px, y_px=one.y_px, sd_px=one.sd_px, origin=one.origin)
            for name, one in marks.marks.landmarks.items()
        },
    )


def view_to_json(tx: Tx, view: PhotoView) -> PhotoViewJson:
    """Return a photo with its marks and measurement."""
    return PhotoViewJson(
        photo=photo_to_json(tx, view.photo),
        marks=None if view.marks is None else marks_to_json(view.marks),
        measurement=None if view.measurement is None else dict(view.measurement.record),
    )


def queued_to_json(row: QueueRow) -> QueuedJson:
    """Return a line of the queue."""
    photo = row.photo
    return QueuedJson(
        id=photo.id,
        name=photo.name,
        state=photo.state,
        reason=photo.reason,
        gymnast=row.gymnast,
        test=photo.test,
        day=row.screened_on or photo.taken_on,
    )
