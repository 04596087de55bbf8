"""Implements `KeyBook`."""

from datetime import datetime

from sqlalchemy import ColumnElement, Select, case, false, func, literal, not_, select

from chordline.adapters.db.content_holders import CONTENT_HOLDERS
from chordline.adapters.db.rows import AnyRow
from chordline.adapters.db.schema import CLUB, SCREEN
from chordline.adapters.db.session import Session
from chordline.adapters.db.vault_schema import VAULT_KEY
from chordline.application.club.vault_ports import Holder, Misplaced, WrappedKey

_SEALED = "sealed-"


class SqlKeys:
    """Wrapped keys."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def of(self, club_id: int, gymnast_id: int | None) -> WrappedKey | None:
        """Return a gymnast's key, or the one for pictures of nobody yet."""
        query = select(VAULT_KEY).where(VAULT_KEY.c.club_id == club_id, _is(gymnast_id))
        # Locked against `retire_unfiled`: whoever files a picture needs the key to stay.
        found = self._session.rows(query.with_for_update(key_share=True))
        return _key(found[0]) if found else None

    def get(self, key_id: str) -> WrappedKey | None:
        """Return a key; None where it was erased."""
        found = self._session.rows(select(VAULT_KEY).where(VAULT_KEY.c.id == key_id))
        return _key(found[0]) if found else None

    def add(
        self,
        club_id: int,
        gymnast_id: int | None,
        *,
        key_id: str,
        wrapped: bytes,
        made_at: datetime | None = None,
    ) -> WrappedKey:
        """Keep a key, and return the one that counts."""
        # One at a time, so that two who need it at once get the same.
        club = select(CLUB.c.id).where(CLUB.c.id == club_id)
        self._session.rows(club.with_for_update(key_share=True))
        there = self.of(club_id, gymnast_id)
        if there is not None:
            return there
        new = VAULT_KEY.insert().values(
            id=key_id,
            club_id=club_id,
            gymnast_id=gymnast_id,
            wrapped=wrapped,
            made_at=made_at or self._session.now(),
        )
        self._session.connection.execute(new)
        return _key(self._session.rows(select(VAULT_KEY).where(VAULT_KEY.c.id == key_id))[0])

    def all(self, club_id: int) -> tuple[WrappedKey, ...]:
        """Return every key of a club, the oldest first."""
        query = select(VAULT_KEY).where(VAULT_KEY.c.club_id == club_id)
        ordered = query.order_by(VAULT_KEY.c.made_at, VAULT_KEY.c.id)
        return tuple(_key(row) for row in self._session.rows(ordered))

    def retire_unfiled(self, club_id: int) -> bool:
        """Remove the key for pictures of nobody yet where none uses it."""
        query = select(VAULT_KEY).where(VAULT_KEY.c.club_id == club_id, _is(None))
        # Before looking who uses it: whoever is filing one now is waited for.
        found = self._session.rows(query.with_for_update())
        if not found:
            return False
        key_id = found[0].id
        for _, content in CONTENT_HOLDERS.values():
            # Between "sealed-ID-" and "sealed-ID.": an index answers that.
            first, behind = f"{_SEALED}{key_id}-", f"{_SEALED}{key_id}."
            uses = select(func.count()).where(content >= first, content < behind)
            if self._session.number(uses):
                return False
        self._session.connection.execute(VAULT_KEY.delete().where(VAULT_KEY.c.id == key_id))
        return True

    def misplaced(
        self, club_id: int, holder: Holder, *, after: int = 0, limit: int = 100
    ) -> tuple[Misplaced, ...]:
        """Return files that are not under the right key, by id."""
        if holder not in CONTENT_HOLDERS:
            return ()
        table = CONTENT_HOLDERS[holder].table
        query = _misplaced(holder).where(table.c.club_id == club_id, table.c.id > after)
        rows = self._session.rows(query.order_by(table.c.id).limit(limit))
        return tuple(_one(holder, row) for row in rows)

    def misplaced_one(self, holder: Holder, id: int) -> Misplaced | None:
        """Return a photo's or video's file where it is not under the right key."""
        query = _misplaced(holder).where(CONTENT_HOLDERS[holder].table.c.id == id)
        rows = self._session.rows(query)
        return _one(holder, rows[0]) if rows else None

    def count_misplaced(self, club_id: int) -> int:
        """Return how many files are not under the right key."""
        return sum(
            self._session.number(
                select(func.count()).select_from(
                    _misplaced(holder).where(table.c.club_id == club_id).subquery()
                )
            )
            for holder, (table, _) in CONTENT_HOLDERS.items()
        )

    def content_keys(self, club_id: int) -> frozenset[str]:
        """Return the content key of every photo and video that has a file."""
        found: set[str] = set()
        for table, content in CONTENT_HOLDERS.values():
            query = select(content).where(table.c.club_id == club_id, content.is_not(None))
            found.update(row[0] for row in self._session.rows(query))
        return frozenset(found)

    def replace(self, one: Misplaced, content_key: str) -> bool:
        """Say where a file is now."""
        table, content = CONTENT_HOLDERS[one.holder]
        # Locked first: whose it is must not change between the look and the word.
        self._session.rows(select(table.c.id).where(table.c.id == one.id).with_for_update())
        now = self.misplaced_one(one.holder, one.id)
        if now != one:
            return False
        change = table.update().where(table.c.id == one.id).values({content.name: content_key})
        self._session.connection.execute(change)
        return True


def _one(holder: Holder, row: AnyRow) -> Misplaced:
    return Misplaced(holder, row.id, row.club_id, row.content, row.gymnast_id)


def _misplaced(holder: str) -> Select[tuple[int, int, str, int | None]]:
    table, content = CONTENT_HOLDERS[holder]
    # Two looks at an index each, instead of a join on either of two conditions, which uses none.
    hers = select(VAULT_KEY.c.id).where(VAULT_KEY.c.gymnast_id == SCREEN.c.gymnast_id)
    nobodys = select(VAULT_KEY.c.id).where(VAULT_KEY.c.club_id == table.c.club_id, _is(None))
    right_key = case(
        (table.c.screen_id.is_(None), nobodys.correlate(table).scalar_subquery()),
        else_=hers.correlate(SCREEN).scalar_subquery(),
    )
    under_it = content.like(literal(_SEALED) + right_key + literal("-%"))
    return (
        select(table.c.id, table.c.club_id, content.label("content"), SCREEN.c.gymnast_id)
        .select_from(table.outerjoin(SCREEN, SCREEN.c.id == table.c.screen_id))
        # Where there is no key yet nothing can be said to be under it.
        .where(content.is_not(None), not_(func.coalesce(under_it, false())))
    )


def _is(gymnast_id: int | None) -> ColumnElement[bool]:
    owner = VAULT_KEY.c.gymnast_id
    return owner.is_(None) if gymnast_id is None else owner == gymnast_id


def _key(row: AnyRow) -> WrappedKey:
    return WrappedKey(row.id, row.club_id, row.gymnast_id, bytes(row.wrapped), row.made_at)
