"""Implements `ErasedBook`."""

from collections.abc import Mapping, Sequence
from typing import Any

from sqlalchemy import ColumnElement, Table, or_, select

from chordline.adapters.db.erased_schema import ERASED
from chordline.adapters.db.schema import GYMNAST, METADATA
from chordline.adapters.db.session import Session
from chordline.adapters.db.vault_schema import VAULT_KEY
from chordline.application.club.erased import Erased

#: What belongs to her and is not about her: the wrapped key would open her pictures in a backup.
NOT_GIVEN = frozenset((VAULT_KEY.name,))
_LONGEST = 200


class SqlErased:
    """Who was erased, and what is kept of somebody."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def note(self, gymnast_number: int, *, by: str) -> Erased:
        """Write down that a gymnast is erased now."""
        erased = Erased(gymnast_number, self._session.now(), by[:_LONGEST])
        self._put(erased)
        return erased

    def learn(self, known: Sequence[Erased]) -> None:
        """Write down who was erased as far as it is not known yet."""
        there = {one.gymnast_number: one for one in self.all()}
        for one in known:
            mine = there.get(one.gymnast_number)
            if mine is None or mine.erased_at < one.erased_at:
                self._put(one)

    def all(self) -> tuple[Erased, ...]:
        """Return everybody who was erased, the first first."""
        rows = self._session.rows(
            select(ERASED).order_by(ERASED.c.erased_at, ERASED.c.gymnast_number)
        )
        return tuple(Erased(row.gymnast_number, row.erased_at, row.by) for row in rows)

    def still_there(self) -> tuple[int, ...]:
        """Return the numbers of those who were erased and stand in the records all the same."""
        there = (
            select(GYMNAST.c.id)
            .join(ERASED, ERASED.c.gymnast_number == GYMNAST.c.id)
            .where(GYMNAST.c.created_at <= ERASED.c.erased_at)
            .order_by(GYMNAST.c.id)
        )
        return tuple(row.id for row in self._session.rows(there))

    def rows_of(self, gymnast_id: int) -> Mapping[str, tuple[Mapping[str, Any], ...]]:
        """Return every row that belongs to a gymnast, by table."""
        self._session.row(GYMNAST, gymnast_id)
        found = {}
        for table, hers in rows_that_are_hers(gymnast_id).items():
            if table.name in NOT_GIVEN:
                continue
            query = select(table).where(hers).order_by(*table.primary_key)
            found[table.name] = tuple(dict(row._mapping) for row in self._session.rows(query))
        return found

    def _put(self, erased: Erased) -> None:
        self._session.put(
            ERASED,
            gymnast_number=erased.gymnast_number,
            erased_at=erased.erased_at,
            by=erased.by,
        )


def rows_that_are_hers(gymnast_id: int) -> dict[Table, ColumnElement[bool]]:
    """Return which rows of which tables belong to a gymnast, read off the tables themselves.

    A table is hers where it names her, or a row of another table that is hers: one that is added
    to the schema is found without being named here.
    """
    hers: dict[Table, ColumnElement[bool]] = {GYMNAST: GYMNAST.c.id == gymnast_id}
    for table in METADATA.sorted_tables:
        if table is GYMNAST:
            continue
        ways = []
        for column in table.c:
            if column.name == "gymnast_id":
                ways.append(column == gymnast_id)
                continue
            for key in column.foreign_keys:
                owner = key.column.table
                if owner in hers and owner is not GYMNAST and key.column.name == "id":
                    ways.append(column.in_(select(owner.c.id).where(hers[owner])))
        if ways:
            hers[table] = or_(*ways)
    return hers
