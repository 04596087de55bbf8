"""Column types that mean the same in SQLite and PostgreSQL."""

import json
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import JSON, BigInteger, DateTime, Integer, String
from sqlalchemy.engine import Dialect
from sqlalchemy.types import TypeDecorator


class UtcDateTime(TypeDecorator[datetime]):
    """An aware moment, kept in UTC; naive ones are refused."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """Return the moment in UTC; SQLite keeps it without its zone."""
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError("a moment needs a time zone")
        utc = value.astimezone(UTC)
        return utc.replace(tzinfo=None) if dialect.name == "sqlite" else utc

    def process_result_value(self, value: Any, dialect: Dialect) -> datetime | None:  # noqa: ARG002
        """Return the moment, aware."""
        if value is None:
            return None
        moment: datetime = value
        return moment.replace(tzinfo=UTC) if moment.tzinfo is None else moment.astimezone(UTC)


#: SQLite numbers rows itself only where the key is a plain INTEGER.
RowId = BigInteger().with_variant(Integer(), "sqlite")


class JsonText(TypeDecorator[Any]):
    """JSON as it was written; values that are no numbers are refused.

    Not JSONB: that forgets the order of keys, and the covariance of a measurement stands in the
    order of its measures.
    """

    impl = JSON
    cache_ok = True

    def process_bind_param(self, value: Any, dialect: Dialect) -> Any:  # noqa: ARG002
        """Return the value; raise where JSON has no word for it."""
        json.dumps(value, allow_nan=False)
        return value


#: Text that is sorted and compared by code points in both databases.
CodePoints = String().with_variant(String(collation="C"), "postgresql")
