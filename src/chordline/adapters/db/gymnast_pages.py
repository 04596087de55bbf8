"""The gymnasts' table and the squad table, page by page."""

from datetime import date
from typing import Any, NamedTuple

from sqlalchemy import ColumnElement, and_, func, literal, select

from chordline.adapters.db.paging import beyond, check_limit, read_cursor, write_cursor
from chordline.adapters.db.rows import AnyRow, findings_of, gymnast_of
from chordline.adapters.db.schema import FINDINGS, GROUP_MEMBER, GYMNAST, PHOTO, SCREEN
from chordline.adapters.db.search_keys import search_patterns
from chordline.adapters.db.session import Session
from chordline.application.club.records import FindingsRecord
from chordline.application.club.views import (
    GymnastQuery,
    GymnastRow,
    Page,
    SortKey,
    SquadRow,
)
from chordline.errors import WrongUseError

_LAST_SCREENED = (
    select(func.max(SCREEN.c.screened_on))
    .where(SCREEN.c.gymnast_id == GYMNAST.c.id)
    .correlate(GYMNAST)
    .scalar_subquery()
)


class _Sort(NamedTuple):
    """What is sorted by, without gaps, and whether it is a date."""

    key: ColumnElement[Any]
    kind: type
    is_date: bool = False


_SORTS: dict[SortKey, _Sort] = {
    "name": _Sort(GYMNAST.c.name_key, str),
    "card": _Sort(func.coalesce(GYMNAST.c.card, 10**6), int),
    "birth_date": _Sort(func.coalesce(GYMNAST.c.birth_date, literal(date.max)), str, is_date=True),
    "last_screened": _Sort(func.coalesce(_LAST_SCREENED, literal(date.min)), str, is_date=True),
}


def page(session: Session, query: GymnastQuery) -> Page[GymnastRow]:
    """Return a page of gymnasts."""
    limit = check_limit(query.limit)
    if query.sort not in _SORTS:
        raise WrongUseError(f"gymnasts can be sorted by {', '.join(_SORTS)}")
    sort, down = _SORTS[query.sort], query.descending
    order = f"{query.sort}-{'down' if down else 'up'}"
    wanted = _wanted(query)
    rest = wanted
    if query.after is not None:
        value, last_id = read_cursor(query.after, order, sort.kind, int)
        rest = and_(
            wanted,
            beyond(
                sort.key,
                _day(value) if sort.is_date else value,
                GYMNAST.c.id,
                last_id,
                key_down=down,
                id_down=down,
            ),
        )
    keys = (sort.key, GYMNAST.c.id)
    rows = session.rows(
        select(GYMNAST, _LAST_SCREENED.label("last_screened_on"), sort.key.label("sort_key"))
        .where(rest)
        .order_by(*(key.desc() if down else key for key in keys))
        .limit(limit + 1)
    )
    total = session.number(select(func.count()).select_from(GYMNAST).where(wanted))
    following = None
    if len(rows) > limit:
        last = rows[limit - 1]
        key = last.sort_key
        following = write_cursor(order, key.isoformat() if sort.is_date else key, last.id)
    return Page(
        [GymnastRow(gymnast_of(row), row.last_screened_on) for row in rows[:limit]],
        following,
        total,
    )


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise WrongUseError(
            "this page's link does not fit the list; begin again at the top"
        ) from None


def _wanted(query: GymnastQuery) -> ColumnElement[bool]:
    archived = GYMNAST.c.archived_at
    conditions = [
        GYMNAST.c.club_id == query.club_id,
        archived.is_not(None) if query.archived else archived.is_(None),
    ]
    if query.group_id is not None:
        members = select(GROUP_MEMBER.c.gymnast_id).where(
            GROUP_MEMBER.c.gym_group_id == query.group_id
        )
        conditions.append(GYMNAST.c.id.in_(members))
    text = query.text.strip()
    if text.isascii() and text.isdigit() and len(text) <= 6:
        conditions.append(GYMNAST.c.card == int(text))
    elif text:
        patterns = search_patterns(text)
        conditions += [GYMNAST.c.name_key.like(pattern) for pattern in patterns]
        if not patterns:  # nothing but signs: no name begins so
            conditions.append(GYMNAST.c.id < 0)
    return and_(*conditions)


def squad(session: Session, query: GymnastQuery) -> Page[SquadRow]:
    """Return a page of gymnasts with their latest findings."""
    found = page(session, query)
    ids = [row.gymnast.id for row in found.rows]
    findings = _latest_findings(session, ids)
    looks = _looks(session, ids)
    rows = [
        SquadRow(
            row.gymnast,
            row.last_screened_on,
            findings.get(row.gymnast.id),
            looks.get(row.gymnast.id, 0),
        )
        for row in found.rows
    ]
    return Page(rows, found.next, found.total)


def _latest_findings(session: Session, gymnast_ids: list[int]) -> dict[int, FindingsRecord]:
    latest = (
        select(FINDINGS.c.id)
        .join(SCREEN, SCREEN.c.id == FINDINGS.c.screen_id)
        .where(SCREEN.c.gymnast_id == GYMNAST.c.id)
        .order_by(SCREEN.c.screened_on.desc(), FINDINGS.c.id.desc())
        .limit(1)
        .correlate(GYMNAST)
        .scalar_subquery()
    )
    query = (
        select(FINDINGS, SCREEN.c.screened_on, SCREEN.c.revision, SCREEN.c.gymnast_id)
        .select_from(GYMNAST)
        .join(FINDINGS, FINDINGS.c.id == latest)
        .join(SCREEN, SCREEN.c.id == FINDINGS.c.screen_id)
        .where(GYMNAST.c.id.in_(gymnast_ids))
    )
    rows: list[AnyRow] = session.rows(query)
    return {row.gymnast_id: findings_of(row) for row in rows}


def _looks(session: Session, gymnast_ids: list[int]) -> dict[int, int]:
    query = (
        select(SCREEN.c.gymnast_id, func.count().label("looks"))
        .join(PHOTO, PHOTO.c.screen_id == SCREEN.c.id)
        .where(SCREEN.c.gymnast_id.in_(gymnast_ids), PHOTO.c.worry.is_not(None))
        .group_by(SCREEN.c.gymnast_id)
    )
    return {row.gymnast_id: row.looks for row in session.rows(query)}
