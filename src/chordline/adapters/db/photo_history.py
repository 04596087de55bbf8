"""Marks and measurements of a photo: everything is kept, one of each counts."""

from typing import Any

from sqlalchemy import func, select

from chordline.adapters.db.rows import marks_of, marks_values, measurement_of, photo_of
from chordline.adapters.db.schema import MARKS, MEASUREMENT, PHOTO
from chordline.adapters.db.session import RefusedMarks, Session
from chordline.adapters.db.views import touch_screens
from chordline.application.club.records import (
    Json,
    MarksRecord,
    MeasurementRecord,
    PhotoRecord,
    StaleMarksError,
    worry_of,
)
from chordline.application.marks import HandMarks


def reopen(session: Session, before: PhotoRecord, **values: Any) -> None:
    """Change a photo so that it waits for a new measurement."""
    session.change(
        PHOTO,
        before.id,
        revision=before.revision + 1,
        state="waiting",
        reason=None,
        worry=None,
        checked_by=None,
        **values,
    )


def save_marks(
    session: Session, photo_id: int, marks: HandMarks, *, base_version: int, author: str
) -> MarksRecord:
    """Keep hand marks as the standing ones, or set them aside and raise `StaleMarksError`."""
    photo = photo_of(session.row(PHOTO, photo_id, lock=True))
    values = {
        "photo_id": photo_id,
        "base_version": base_version,
        "author": author,
        "made_at": session.now(),
        **marks_values(marks),
    }
    if base_version != photo.marks_version:
        current = _version(session, photo_id, photo.marks_version)
        sent_twice = (current.base_version, current.author, current.marks) == (
            base_version,
            author,
            marks,
        )
        if sent_twice:
            return current
        session.refused_marks.append(RefusedMarks(values))
        raise StaleMarksError(current)
    version = _next_version(session, photo_id)
    session.connection.execute(MARKS.insert().values(version=version, set_aside=False, **values))
    reopen(session, photo, marks_version=version)
    touch_screens(session, [photo.screen_id])
    return _version(session, photo_id, version)


def keep_refused(session: Session, refused: RefusedMarks) -> None:
    """Put marks that came too late into the history, set aside."""
    photo_id = refused.values["photo_id"]
    session.row(PHOTO, photo_id, lock=True)
    version = _next_version(session, photo_id)
    row = MARKS.insert().values(version=version, set_aside=True, **refused.values)
    session.connection.execute(row)


def _next_version(session: Session, photo_id: int) -> int:
    latest = select(func.coalesce(func.max(MARKS.c.version), 0))
    return session.number(latest.where(MARKS.c.photo_id == photo_id)) + 1


def _version(session: Session, photo_id: int, version: int) -> MarksRecord:
    query = select(MARKS).where(MARKS.c.photo_id == photo_id, MARKS.c.version == version)
    return marks_of(session.rows(query)[0])


def marks_history(session: Session, photo_id: int) -> tuple[MarksRecord, ...]:
    """Return every version of a photo's marks, the first first."""
    query = select(MARKS).where(MARKS.c.photo_id == photo_id).order_by(MARKS.c.version)
    return tuple(map(marks_of, session.rows(query)))


def save_measurement(
    session: Session,
    photo_id: int,
    record: Json,
    *,
    revision: int,
    marks_version: int | None,
    catalogue: str,
) -> MeasurementRecord:
    """Keep a measurement, and settle the photo where it is still as it was measured."""
    photo = photo_of(session.row(PHOTO, photo_id, lock=True))
    measurement_id = session.insert(
        MEASUREMENT,
        photo_id=photo_id,
        photo_revision=revision,
        marks_version=marks_version,
        record=dict(record),
        model=record["model"],
        catalogue=catalogue,
        measured_at=session.now(),
    )
    if photo.revision == revision:
        worry = worry_of(record)
        reasons = "; ".join(record["trust"]["reasons"]) or "the measurement was not accepted"
        session.change(
            PHOTO,
            photo_id,
            state="measured" if worry is None else "needs_look",
            reason=None if worry is None else reasons[:2000],
            worry=worry,
            checked_by=None,
        )
        touch_screens(session, [photo.screen_id])
    return measurement_of(session.row(MEASUREMENT, measurement_id))


def measurements(session: Session, photo_id: int) -> tuple[MeasurementRecord, ...]:
    """Return every measurement of a photo, the latest first."""
    query = select(MEASUREMENT).where(MEASUREMENT.c.photo_id == photo_id)
    return tuple(map(measurement_of, session.rows(query.order_by(MEASUREMENT.c.id.desc()))))
