"""Photos and screens with all that belongs to them, fetched for many at once."""

from collections.abc import Iterable, Sequence

from sqlalchemy import and_, func, select

from chordline.adapters.db.rows import (
    AnyRow,
    findings_of,
    hold_of,
    marks_of,
    measurement_of,
    photo_of,
    screen_of,
)
from chordline.adapters.db.schema import FINDINGS, HOLD, MARKS, MEASUREMENT, PHOTO, SCREEN
from chordline.adapters.db.session import Session
from chordline.adapters.db.video_schema import VIDEO
from chordline.application.club.views import PhotoView, ScreenView

#: Databases take only so many values in one question.
_KEYS_AT_ONCE = 1000


def photo_views(session: Session, rows: Sequence[AnyRow]) -> tuple[PhotoView, ...]:
    """Return photos with their standing marks and the measurements that count."""
    ids = [row.id for row in rows]
    standing = (
        select(MARKS)
        .join(PHOTO, and_(PHOTO.c.id == MARKS.c.photo_id, PHOTO.c.marks_version == MARKS.c.version))
        .where(PHOTO.c.id.in_(ids))
    )
    latest = (
        select(func.max(MEASUREMENT.c.id))
        .where(
            MEASUREMENT.c.photo_id == PHOTO.c.id, MEASUREMENT.c.photo_revision == PHOTO.c.revision
        )
        .correlate(PHOTO)
        .scalar_subquery()
    )
    counting = (
        select(MEASUREMENT)
        .select_from(PHOTO)
        .join(MEASUREMENT, MEASUREMENT.c.id == latest)
        .where(PHOTO.c.id.in_(ids))
    )
    marks = {row.photo_id: marks_of(row) for row in session.rows(standing)}
    measurements = {row.photo_id: measurement_of(row) for row in session.rows(counting)}
    return tuple(
        PhotoView(photo_of(row), marks.get(row.id), measurements.get(row.id)) for row in rows
    )


def screen_views(session: Session, rows: Sequence[AnyRow]) -> tuple[ScreenView, ...]:
    """Return screens with their photos, holds and latest findings."""
    ids = [row.id for row in rows]
    of_screens = select(PHOTO).where(PHOTO.c.screen_id.in_(ids)).order_by(PHOTO.c.id)
    photos = photo_views(session, session.rows(of_screens))
    held = select(HOLD).where(HOLD.c.screen_id.in_(ids)).order_by(HOLD.c.id)
    holds = [hold_of(row) for row in session.rows(held)]
    newest = (
        select(func.max(FINDINGS.c.id))
        .where(FINDINGS.c.screen_id.in_(ids))
        .group_by(FINDINGS.c.screen_id)
    )
    judged = (
        select(FINDINGS, SCREEN.c.screened_on, SCREEN.c.revision)
        .join(SCREEN, SCREEN.c.id == FINDINGS.c.screen_id)
        .where(FINDINGS.c.id.in_(newest))
    )
    findings = {row.screen_id: findings_of(row) for row in session.rows(judged)}
    shown = select(VIDEO.c.id, VIDEO.c.key_photo_id).where(
        VIDEO.c.screen_id.in_(ids), VIDEO.c.key_photo_id.is_not(None)
    )
    # Only screens with holds of videos ask for them.
    timed = any(one.video_id is not None for one in holds)
    key_photos = {row.id: row.key_photo_id for row in session.rows(shown)} if timed else {}
    return tuple(
        ScreenView(
            screen=screen_of(row),
            photos=tuple(one for one in photos if one.photo.screen_id == row.id),
            holds=tuple(one for one in holds if one.screen_id == row.id),
            findings=findings.get(row.id),
            key_photos=key_photos,
        )
        for row in rows
    )


def touch_screens(session: Session, screen_ids: Iterable[int | None]) -> None:
    """Say that what was found from screens is out of date."""
    # In one order everywhere, so that two writers cannot wait for each other.
    for screen_id in sorted({one for one in screen_ids if one is not None}):
        change = SCREEN.update().where(SCREEN.c.id == screen_id)
        session.connection.execute(change.values(revision=SCREEN.c.revision + 1))


def keys_not_needed(session: Session, keys: Iterable[str]) -> tuple[str, ...]:
    """Return those of some content keys that no photo and no video has."""
    wanted = sorted(set(keys))
    needed = set()
    for begin in range(0, len(wanted), _KEYS_AT_ONCE):
        some = wanted[begin : begin + _KEYS_AT_ONCE]
        for table in (PHOTO, VIDEO):
            query = select(table.c.content_key).where(table.c.content_key.in_(some))
            needed |= {row.content_key for row in session.rows(query)}
    return tuple(key for key in wanted if key not in needed)
