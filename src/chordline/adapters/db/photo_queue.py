"""What waits for the coach."""

from typing import Any

from sqlalchemy import ColumnElement, Select, and_, func, or_, select

from chordline.adapters.db.paging import beyond, check_limit, read_cursor, write_cursor
from chordline.adapters.db.rows import AnyRow, photo_of
from chordline.adapters.db.schema import GYMNAST, PHOTO, SCREEN
from chordline.adapters.db.session import Session
from chordline.application.club.records import PhotoRecord
from chordline.application.club.views import Page, QueueCounts, QueuePlace, QueueRow

_WITH_OWNER = PHOTO.outerjoin(SCREEN, SCREEN.c.id == PHOTO.c.screen_id).outerjoin(
    GYMNAST, GYMNAST.c.id == SCREEN.c.gymnast_id
)
_OWNER_NOT_ARCHIVED = or_(GYMNAST.c.id.is_(None), GYMNAST.c.archived_at.is_(None))


def _rows() -> Select[Any]:
    return select(
        PHOTO,
        GYMNAST.c.id.label("gymnast_id"),
        GYMNAST.c.name.label("gymnast"),
        SCREEN.c.screened_on,
    ).select_from(_WITH_OWNER)


def _total(session: Session, wanted: ColumnElement[bool]) -> int:
    return session.number(select(func.count()).select_from(_WITH_OWNER).where(wanted))


def _queue_row(row: AnyRow) -> QueueRow:
    return QueueRow(photo_of(row), row.gymnast_id, row.gymnast, row.screened_on)


def queue(session: Session, club_id: int, *, after: str | None, limit: int) -> Page[QueueRow]:
    """Return the photos that need a look, worst trust first, the oldest of equals first."""
    limit = check_limit(limit)
    wanted = and_(PHOTO.c.club_id == club_id, PHOTO.c.worry.is_not(None), _OWNER_NOT_ARCHIVED)
    rest = wanted
    if after is not None:
        worry, last_id = read_cursor(after, "queue", float, int)
        place = beyond(PHOTO.c.worry, worry, PHOTO.c.id, last_id, key_down=True, id_down=False)
        rest = and_(wanted, place)
    order = (PHOTO.c.worry.desc(), PHOTO.c.id)
    rows = session.rows(_rows().where(rest).order_by(*order).limit(limit + 1))
    last = rows[limit - 1] if len(rows) > limit else None
    following = None if last is None else write_cursor("queue", last.worry, last.id)
    return Page([_queue_row(row) for row in rows[:limit]], following, _total(session, wanted))


def place(session: Session, photo: PhotoRecord) -> QueuePlace:
    """Return where a photo stands in the queue, without reading the queue."""
    wanted = and_(PHOTO.c.club_id == photo.club_id, PHOTO.c.worry.is_not(None), _OWNER_NOT_ARCHIVED)
    waiting = select(PHOTO.c.id).select_from(_WITH_OWNER).where(wanted)
    order = (PHOTO.c.worry.desc(), PHOTO.c.id)
    total = _total(session, wanted)
    if photo.worry is None or not session.rows(waiting.where(PHOTO.c.id == photo.id)):
        first = session.rows(waiting.order_by(*order).limit(1))
        return QueuePlace(None, first[0].id if first else None, None, total)
    after = _beside(photo, key_down=True, id_down=False)
    before = _beside(photo, key_down=False, id_down=True)
    following = session.rows(waiting.where(after).order_by(*order).limit(1))
    backwards = (PHOTO.c.worry, PHOTO.c.id.desc())
    previous = session.rows(waiting.where(before).order_by(*backwards).limit(1))
    return QueuePlace(
        previous[0].id if previous else None,
        following[0].id if following else None,
        _total(session, and_(wanted, before)) + 1,
        total,
    )


def _beside(photo: PhotoRecord, *, key_down: bool, id_down: bool) -> ColumnElement[bool]:
    return beyond(
        PHOTO.c.worry, photo.worry, PHOTO.c.id, photo.id, key_down=key_down, id_down=id_down
    )


def unfiled(session: Session, club_id: int, *, after: str | None, limit: int) -> Page[QueueRow]:
    """Return the photos that nobody owns, the oldest first."""
    limit = check_limit(limit)
    wanted = and_(PHOTO.c.club_id == club_id, PHOTO.c.screen_id.is_(None))
    rest = wanted
    if after is not None:
        (last_id,) = read_cursor(after, "unfiled", int)
        rest = and_(wanted, PHOTO.c.id > last_id)
    rows = session.rows(_rows().where(rest).order_by(PHOTO.c.id).limit(limit + 1))
    following = write_cursor("unfiled", rows[limit - 1].id) if len(rows) > limit else None
    total = session.number(select(func.count()).select_from(PHOTO).where(wanted))
    return Page([_queue_row(row) for row in rows[:limit]], following, total)


def counts(session: Session, club_id: int) -> QueueCounts:
    """Return what waits; of archived gymnasts nothing does."""

    def number(*conditions: ColumnElement[bool]) -> int:
        return _total(session, and_(PHOTO.c.club_id == club_id, _OWNER_NOT_ARCHIVED, *conditions))

    return QueueCounts(
        waiting=number(PHOTO.c.state == "waiting"),
        needs_look=number(PHOTO.c.state == "needs_look"),
        refused=number(PHOTO.c.state == "refused"),
        unfiled=number(PHOTO.c.screen_id.is_(None)),
    )
