"""What the books of one transaction share."""

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Row, Select, Table, select
from sqlalchemy.dialects import postgresql, sqlite

from chordline.errors import NotThereError

#: A person's word for a row of a table.
_WORDS = {
    "gym_group": "group",
    "training_plan": "plan",
    "training_session": "session",
    "study_task": "photo of this study",
}
#: What both databases can hold.
_LARGEST_ID = 2**63 - 1


@dataclass(frozen=True)
class RefusedMarks:
    """Marks that came too late: a row for the history, without its version."""

    values: dict[str, Any]


@dataclass
class Session:
    """A connection within a transaction, the clock, and what is kept however it ends."""

    connection: Connection
    now: Callable[[], datetime]
    refused_marks: list[RefusedMarks] = field(default_factory=list)

    def row(self, table: Table, id: int, *, lock: bool = False) -> Row[Any]:
        """Return a row, locked against other writers where asked, or raise `NotThereError`."""
        if not 0 <= id <= _LARGEST_ID:
            raise NotThereError(_WORDS.get(table.name, table.name), id)
        query = select(table).where(table.c.id == id)
        found = self.connection.execute(query.with_for_update() if lock else query).first()
        if found is None:
            raise NotThereError(_WORDS.get(table.name, table.name), id)
        return found

    def rows(self, query: Select[Any]) -> list[Row[Any]]:
        """Return every row of a query."""
        return list(self.connection.execute(query))

    def number(self, query: Select[Any]) -> int:
        """Return the one number of a query."""
        return int(self.connection.execute(query).scalar_one())

    def insert(self, table: Table, **values: Any) -> int:
        """Insert a row and return its id."""
        statement = table.insert().values(**values).returning(table.c.id)
        return int(self.connection.execute(statement).scalar_one())

    def insert_once(self, table: Table, unique: tuple[str, ...], **values: Any) -> bool:
        """Insert a row unless one with the same `unique` columns is there; return whether."""
        on_sqlite = self.connection.dialect.name == "sqlite"
        new = sqlite.insert(table) if on_sqlite else postgresql.insert(table)
        only_once = new.values(**values).on_conflict_do_nothing(index_elements=unique)
        key = next(iter(table.primary_key))
        return self.connection.execute(only_once.returning(key)).first() is not None

    def put(self, table: Table, **values: Any) -> None:
        """Insert a row, or set the columns of the one that has its key already."""
        on_sqlite = self.connection.dialect.name == "sqlite"
        new = sqlite.insert(table) if on_sqlite else postgresql.insert(table)
        keys = [column.name for column in table.primary_key]
        rest = {name: value for name, value in values.items() if name not in keys}
        self.connection.execute(
            new.values(**values).on_conflict_do_update(index_elements=keys, set_=rest)
        )

    def change(self, table: Table, id: int, **values: Any) -> None:
        """Set columns of a row."""
        self.connection.execute(table.update().where(table.c.id == id).values(**values))
