"""The table of who was erased: a number, a moment, and by whom; nothing that tells who she was."""

from sqlalchemy import Column, Table

from chordline.adapters.db.column_types import RowId, UtcDateTime
from chordline.adapters.db.table_parts import METADATA, text_column

ERASED = Table(
    "erased",
    METADATA,
    # No key of another table: she is gone.
    Column("gymnast_number", RowId, primary_key=True, autoincrement=False),
    Column("erased_at", UtcDateTime, nullable=False),
    text_column("by"),
)
