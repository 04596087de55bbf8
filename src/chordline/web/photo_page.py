"""What the page of one photo shows, read from the records."""

from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from chordline.application.club.ports import Tx
from chordline.application.club.records import GymnastRecord, MarksRecord, PhotoRecord
from chordline.application.club.views import PhotoView, QueuePlace
from chordline.errors import ChordlineError, NotThereError
from chordline.web.desk import Desk
from chordline.web.photo_scene import EDITOR_PX, editor_options, picture_address

__all__ = ["EDITOR_PX", "PhotoPage", "label_of", "read_photo_page"]


@dataclass(frozen=True)
class PhotoPage:
    """What the page shows.

    Attributes
    ----------
    photo : PhotoRecord
    gymnast : GymnastRecord or None
    day : date or None
    title : str or None
        Of the test.
    queue : bool
        Whether the coach walks through the queue.
    place : QueuePlace
    editor : mapping or None
        What the editor is mounted with; None where there is nothing to mark yet.
    no_picture : str
        Why the picture is not shown; empty where it is.
    history : sequence of MarksRecord
        The latest first.
    shown_marks : MarksRecord or None
        An earlier version that the coach wanted to see.
    model : str or None
        What found the landmarks of the measurement that counts.
    people : bool
        Whether several people may be in the picture.
    """

    photo: PhotoRecord
    gymnast: GymnastRecord | None
    day: date | None
    title: str | None
    queue: bool
    place: QueuePlace
    editor: dict[str, Any] | None
    no_picture: str
    history: tuple[MarksRecord, ...]
    shown_marks: MarksRecord | None
    model: str | None

    @property
    def walks(self) -> bool:
        """Whether the next photo is the next of the queue."""
        return self.queue or self.place.position is not None

    @property
    def following(self) -> str | None:
        """Address of what comes next; None at the end of the queue."""
        if self.walks:
            return None if self.place.next is None else f"/photos/{self.place.next}?queue=1"
        return self.home

    @property
    def home(self) -> str:
        """Address of what this photo belongs to."""
        if self.walks or self.gymnast is None:
            return "/look"
        return f"/gymnasts/{self.gymnast.id}"

    @property
    def filled(self) -> dict[str, str]:
        """What the form says at first."""
        photo = self.photo
        return {
            "gymnast": "" if self.gymnast is None else label_of(self.gymnast),
            "test": photo.test or "",
            "day": "" if self.day is None else self.day.isoformat(),
            "person": "" if photo.person is None else str(photo.person),
            "near_side": photo.near_side or "",
        }

    @property
    def data(self) -> dict[str, Any]:
        """What the page's script needs."""
        following = self.place.next if self.walks else None
        previous = self.place.previous if self.walks else None
        return {
            "id": self.photo.id,
            "waiting": self.photo.state == "waiting",
            "walks": self.walks,
            "inQueue": self.place.position is not None,
            "next": following,
            "previous": previous,
            "nextPicture": None if following is None else picture_address(following),
            "home": self.home,
            "editor": self.editor,
        }


def label_of(gymnast: GymnastRecord) -> str:
    """Return how a gymnast is written where she is chosen: two may have one name."""
    return gymnast.name if gymnast.card is None else f"{gymnast.name}, card {gymnast.card}"


def read_photo_page(
    tx: Tx, desk: Desk, photo_id: int, *, queue: bool, marks: int | None
) -> PhotoPage:
    """Return what the page shows."""
    view = tx.photos.view(photo_id)
    photo = view.photo
    gymnast, day = None, photo.taken_on
    if photo.screen_id is not None:
        screen = tx.screens.get(photo.screen_id)
        gymnast, day = tx.gymnasts.get(screen.gymnast_id), screen.screened_on
    history = tx.photos.marks_history(photo_id)
    wanted = next((one for one in history if one.version == marks), None)
    if marks is not None and wanted is None:
        raise NotThereError("version of these marks:", marks)
    test = desk.app.catalogue.tests.get(photo.test or "")
    editor, no_picture = _editor(desk, view if wanted is None else _with(view, wanted))
    return PhotoPage(
        photo=photo,
        gymnast=gymnast,
        day=day,
        title=None if test is None else test.title,
        queue=queue,
        place=tx.photos.place(photo_id),
        editor=editor,
        no_picture=no_picture,
        history=history[::-1],
        shown_marks=wanted,
        model=None if view.measurement is None else view.measurement.model,
    )


def _editor(desk: Desk, view: PhotoView) -> tuple[dict[str, Any] | None, str]:
    photo = view.photo
    if photo.content_key is None:
        return None, "This picture is not kept (any more); what was measured in it stays."
    filed = photo.screen_id is not None and photo.test in desk.app.catalogue.tests
    if not filed or photo.state == "waiting":
        return None, ""
    try:
        return editor_options(desk, view, photo.test or ""), ""
    except ChordlineError as error:
        return None, f"This picture cannot be shown: {error}."


def _with(view: PhotoView, marks: MarksRecord) -> PhotoView:
    """Return a photo as if other marks stood; its card is still the one that was measured."""
    if view.measurement is None:
        return replace(view, marks=marks)
    landmarks = {
        name: {"x_px": one.x_px, "y_px": one.y_px, "sd_px": one.sd_px, "origin": one.origin}
        for name, one in marks.marks.landmarks.items()
    }
    record = {
        **view.measurement.record,
        "landmarks": landmarks,
        "near_side": marks.marks.near_side or view.measurement.record["near_side"],
        "front": marks.marks.front or view.measurement.record["front"],
    }
    return replace(view, marks=marks, measurement=replace(view.measurement, record=record))
