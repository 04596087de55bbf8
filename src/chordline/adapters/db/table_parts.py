"""What the tables' definitions share: names of keys and rules, and columns that come up often."""

from typing import Any

from sqlalchemy import CheckConstraint, Column, ForeignKey, MetaData, String

from chordline.adapters.db.column_types import RowId

METADATA = MetaData(
    naming_convention={
        "pk": "pk_%(table_name)s",
        "fk": "fk_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "ck": "ck_%(table_name)s_%(constraint_name)s",
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    }
)

#: SQLite gives the number of an erased row to the next one unless told not to.
NEVER_TWICE: dict[str, Any] = {"sqlite_autoincrement": True}


def id_column() -> Column[int]:
    """Return the number of a row."""
    return Column("id", RowId, primary_key=True)


def owned_by(table: str, *, nullable: bool = False) -> Column[int]:
    """Return a column that belongs to a row of another table and goes with it."""
    owner = ForeignKey(f"{table}.id", ondelete="CASCADE")
    return Column(f"{table}_id", RowId, owner, nullable=nullable)


def text_column(name: str, *, nullable: bool = False, longest: int = 200) -> Column[str]:
    """Return a column of text."""
    return Column(name, String(longest), nullable=nullable)


def one_of(name: str, words: tuple[str, ...]) -> CheckConstraint:
    """Return the rule that a column holds one of some words."""
    return CheckConstraint(f"{name} IN ({', '.join(map(repr, words))})", name)


def length_within(name: str, longest: int) -> CheckConstraint:
    """Return the rule that a text has a letter and not too many."""
    # SQLite does not look at the length of a VARCHAR.
    return CheckConstraint(f"length({name}) BETWEEN 1 AND {longest}", f"{name}_length")


def rule(name: str, sql: str) -> CheckConstraint:
    """Return a rule in words of SQL."""
    return CheckConstraint(sql, name)
