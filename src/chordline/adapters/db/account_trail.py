"""Implements `TrailBook`, and writes the line of whoever acts."""

from datetime import datetime
from typing import Any

from sqlalchemy import Row, Select, select

from chordline.adapters.db.account_schema import TRAIL
from chordline.adapters.db.schema import CLUB, GYMNAST, HOLD, METADATA, NOTE, PHOTO, SCREEN
from chordline.adapters.db.session import Session
from chordline.application.accounts.acting import Act
from chordline.application.accounts.records import NewTrail, TrailQuery, TrailRow

_LONGEST = 200


class SqlTrail:
    """Who saw and changed what."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def add(self, entry: NewTrail) -> None:
        """Add a line; before there is a club there is nothing to tell."""
        clubs = self._clubs()
        if not clubs:
            return
        self._session.insert(
            TRAIL,
            club_id=clubs[0].id,
            at=entry.at,
            who=entry.who[:_LONGEST],
            account_id=entry.account_id,
            what=entry.what,
            about=entry.about[:_LONGEST],
            gymnast_id=entry.gymnast_id,
            device=entry.device[:_LONGEST],
        )

    def can_tell(self) -> bool:
        """Return whether there is a club of which to tell."""
        return bool(self._clubs())

    def _clubs(self) -> list[Row[Any]]:
        return self._session.rows(select(CLUB.c.id).order_by(CLUB.c.id).limit(1))

    def page(self, query: TrailQuery) -> tuple[TrailRow, ...]:
        """Return lines, the latest first."""
        wanted = (
            select(TRAIL, GYMNAST.c.name.label("gymnast"))
            .outerjoin(GYMNAST, GYMNAST.c.id == TRAIL.c.gymnast_id)
            .where(TRAIL.c.club_id == query.club_id)
        )
        if query.gymnast_id is not None:
            wanted = wanted.where(TRAIL.c.gymnast_id == query.gymnast_id)
        if query.who:
            wanted = wanted.where(TRAIL.c.who == query.who)
        if query.what:
            wanted = wanted.where(TRAIL.c.what == query.what)
        if query.before is not None:
            wanted = wanted.where(TRAIL.c.id < query.before)
        rows = self._session.rows(wanted.order_by(TRAIL.c.id.desc()).limit(query.limit))
        return tuple(
            TrailRow(
                row.id,
                NewTrail(
                    at=row.at,
                    who=row.who,
                    what=row.what,
                    about=row.about,
                    gymnast_id=row.gymnast_id,
                    account_id=row.account_id,
                    device=row.device,
                ),
                row.gymnast,
            )
            for row in rows
        )

    def who(self, club_id: int) -> tuple[str, ...]:
        """Return everybody whom the trail names."""
        query = select(TRAIL.c.who).where(TRAIL.c.club_id == club_id).distinct()
        return tuple(sorted(row.who for row in self._session.rows(query)))

    def whose(self, kind: str, id: int) -> int | None:
        """Return whose photo, screen, hold, note or video something is; None where nobody's."""
        if kind == "gymnast":
            return id
        query = _owner(kind, id)
        rows = [] if query is None else self._session.rows(query)
        return rows[0].gymnast_id if rows else None

    def may_show(self, kind: str, id: int) -> bool:
        """Return whether a picture is of somebody whose family allows showing it."""
        gymnast_id = self.whose(kind, id)
        columns = (GYMNAST.c.may_show_to_squad, GYMNAST.c.consent_until)
        rows = self._session.rows(select(*columns).where(GYMNAST.c.id == gymnast_id))
        if not rows or not rows[0].may_show_to_squad:
            return False
        until = rows[0].consent_until
        return until is None or self._session.now().date() <= until

    def forget(self, before: datetime) -> int:
        """Forget the lines before a moment; return how many."""
        old = TRAIL.delete().where(TRAIL.c.at < before)
        return self._session.connection.execute(old).rowcount


def _owner(kind: str, id: int) -> Select[Any] | None:
    direct = {"screen": SCREEN, "note": NOTE}
    if kind in direct:
        table = direct[kind]
        return select(table.c.gymnast_id).where(table.c.id == id)
    in_screens = {"photo": PHOTO, "hold": HOLD, "video": METADATA.tables.get("video")}
    held = in_screens.get(kind)
    if held is None or "screen_id" not in held.c:
        return None
    joined = select(SCREEN.c.gymnast_id).join(held, held.c.screen_id == SCREEN.c.id)
    return joined.where(held.c.id == id)


def write_act(session: Session, act: Act) -> bool:
    """Add the line of whoever acts to the transaction in which she does it; return whether.

    Where the club is only being founded, the line comes with what is done next.
    """
    kind, id = act.subject or ("", 0)
    book = SqlTrail(session)
    if not book.can_tell():
        return False
    book.add(
        NewTrail(
            at=session.now(),
            who=act.who,
            what=act.what,
            about=act.about,
            gymnast_id=book.whose(kind, id) if act.subject else None,
            account_id=act.account_id,
            device=act.device,
        )
    )
    return True
