"""Implements `PhotoBook`."""

from collections.abc import Iterable, Sequence
from typing import Any

from sqlalchemy import func, select

from chordline.adapters.db import photo_history, photo_queue
from chordline.adapters.db.rows import photo_of
from chordline.adapters.db.schema import CLUB, GYMNAST, PHOTO, SCREEN
from chordline.adapters.db.session import Session
from chordline.adapters.db.views import keys_not_needed, photo_views, touch_screens
from chordline.application.club.records import (
    FiledPhoto,
    Json,
    MarksRecord,
    MeasurementRecord,
    NewPhoto,
    PhotoRecord,
    PhotoState,
)
from chordline.application.club.views import Page, PhotoView, QueueCounts, QueuePlace, QueueRow
from chordline.application.marks import HandMarks
from chordline.conventions import Front, Side
from chordline.errors import NotThereError


class SqlPhotos:
    """Photos with their marks and measurements."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def file(self, club_id: int, new: NewPhoto) -> FiledPhoto:
        """File a photo as waiting; one that is there already is returned unchanged."""
        self._session.row(CLUB, club_id)
        self._check_screen(club_id, new.screen_id)
        sha256 = new.sha256.lower()
        added = self._session.insert_once(
            PHOTO,
            ("club_id", "sha256"),
            club_id=club_id,
            screen_id=new.screen_id,
            name=new.name,
            sha256=sha256,
            size_bytes=new.size_bytes,
            content_key=new.content_key,
            test=new.test,
            near_side=new.near_side,
            front=new.front,
            person=new.person,
            taken_on=new.taken_on,
            state="waiting",
            revision=1,
            marks_version=0,
            received_at=self._session.now(),
        )
        query = select(PHOTO).where(PHOTO.c.club_id == club_id, PHOTO.c.sha256 == sha256)
        photo = photo_of(self._session.rows(query)[0])
        if added:
            touch_screens(self._session, [photo.screen_id])
        return FiledPhoto(photo, already_there=not added)

    def get(self, photo_id: int) -> PhotoRecord:
        """Return a photo."""
        return photo_of(self._session.row(PHOTO, photo_id))

    def with_sha256(self, club_id: int, sha256: str) -> PhotoRecord | None:
        """Return the photo of these bytes, if it is there."""
        same = (PHOTO.c.club_id == club_id, PHOTO.c.sha256 == sha256.lower())
        found = self._session.rows(select(PHOTO).where(*same))
        return photo_of(found[0]) if found else None

    def of_screens(self, screen_ids: Sequence[int], tests: Sequence[str]) -> tuple[PhotoView, ...]:
        """Return the photos of some tests in some screens."""
        wanted = select(PHOTO).where(PHOTO.c.screen_id.in_(screen_ids), PHOTO.c.test.in_(tests))
        return photo_views(self._session, self._session.rows(wanted.order_by(PHOTO.c.id)))

    def not_needed(self, content_keys: Iterable[str]) -> tuple[str, ...]:
        """Return those of some content keys that no photo has."""
        return keys_not_needed(self._session, content_keys)

    def view(self, photo_id: int) -> PhotoView:
        """Return a photo with its standing marks and the measurement that counts."""
        return photo_views(self._session, [self._session.row(PHOTO, photo_id)])[0]

    def move(self, photo_id: int, *, screen_id: int | None, test: str | None) -> PhotoRecord:
        """File a photo under another screen or test."""
        before = photo_of(self._session.row(PHOTO, photo_id, lock=True))
        self._check_screen(before.club_id, screen_id)
        return self._change(before, screen_id=screen_id, test=test)

    def say(
        self, photo_id: int, *, near_side: Side | None, front: Front | None, person: int | None
    ) -> PhotoRecord:
        """Keep what the coach says of a photo."""
        before = photo_of(self._session.row(PHOTO, photo_id, lock=True))
        return self._change(before, near_side=near_side, front=front, person=person)

    def settle(
        self,
        photo_id: int,
        *,
        revision: int,
        state: PhotoState,
        reason: str | None = None,
        worry: float | None = None,
        checked_by: str | None = None,
    ) -> bool:
        """Set a photo's state, unless it is another by now."""
        before = photo_of(self._session.row(PHOTO, photo_id, lock=True))
        if before.revision != revision:
            return False
        self._session.change(
            PHOTO, photo_id, state=state, reason=reason, worry=worry, checked_by=checked_by
        )
        touch_screens(self._session, [before.screen_id])
        return True

    def forget_picture(self, photo_id: int) -> str | None:
        """Say that the picture is kept no more."""
        key = photo_of(self._session.row(PHOTO, photo_id, lock=True)).content_key
        self._session.change(PHOTO, photo_id, content_key=None)
        return self._if_not_needed(key)

    def remove(self, photo_id: int) -> str | None:
        """Remove a photo with its marks and measurements."""
        before = photo_of(self._session.row(PHOTO, photo_id, lock=True))
        self._session.connection.execute(PHOTO.delete().where(PHOTO.c.id == photo_id))
        touch_screens(self._session, [before.screen_id])
        return self._if_not_needed(before.content_key)

    def queue(self, club_id: int, *, after: str | None = None, limit: int = 50) -> Page[QueueRow]:
        """Return the photos that need a look, worst trust first."""
        return photo_queue.queue(self._session, club_id, after=after, limit=limit)

    def place(self, photo_id: int) -> QueuePlace:
        """Return where a photo stands among those that need a look."""
        return photo_queue.place(self._session, photo_of(self._session.row(PHOTO, photo_id)))

    def unfiled(self, club_id: int, *, after: str | None = None, limit: int = 50) -> Page[QueueRow]:
        """Return the photos that nobody owns, the oldest first."""
        return photo_queue.unfiled(self._session, club_id, after=after, limit=limit)

    def counts(self, club_id: int) -> QueueCounts:
        """Return what waits."""
        return photo_queue.counts(self._session, club_id)

    def save_marks(
        self, photo_id: int, marks: HandMarks, *, base_version: int, author: str
    ) -> MarksRecord:
        """Keep hand marks as the standing ones."""
        return photo_history.save_marks(
            self._session, photo_id, marks, base_version=base_version, author=author
        )

    def marks_history(self, photo_id: int) -> tuple[MarksRecord, ...]:
        """Return every version of a photo's marks, the first first."""
        return photo_history.marks_history(self._session, photo_id)

    def save_measurement(
        self,
        photo_id: int,
        record: Json,
        *,
        revision: int,
        marks_version: int | None,
        catalogue: str,
    ) -> MeasurementRecord:
        """Keep a measurement of a photo as it was at `revision`, and settle the photo."""
        return photo_history.save_measurement(
            self._session,
            photo_id,
            record,
            revision=revision,
            marks_version=marks_version,
            catalogue=catalogue,
        )

    def measurements(self, photo_id: int) -> tuple[MeasurementRecord, ...]:
        """Return every measurement of a photo, the latest first."""
        return photo_history.measurements(self._session, photo_id)

    def _change(self, before: PhotoRecord, **values: Any) -> PhotoRecord:
        if all(getattr(before, name) == value for name, value in values.items()):
            return before
        photo_history.reopen(self._session, before, **values)
        touch_screens(self._session, [before.screen_id, values.get("screen_id")])
        return self.get(before.id)

    def _check_screen(self, club_id: int, screen_id: int | None) -> None:
        """Raise where a screen is another club's."""
        if screen_id is None:
            return
        query = (
            select(func.count())
            .select_from(SCREEN.join(GYMNAST))
            .where(SCREEN.c.id == screen_id, GYMNAST.c.club_id == club_id)
        )
        if self._session.number(query) == 0:
            raise NotThereError("screen", screen_id)

    def _if_not_needed(self, key: str | None) -> str | None:
        return next(iter(keys_not_needed(self._session, [key])), None) if key else None
