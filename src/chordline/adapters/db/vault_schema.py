"""The table of the vault: wrapped keys of pictures."""

from sqlalchemy import Column, Index, LargeBinary, String, Table, UniqueConstraint, column

from chordline.adapters.db.column_types import UtcDateTime
from chordline.adapters.db.table_parts import METADATA, owned_by, rule

VAULT_KEY = Table(
    "vault_key",
    METADATA,
    Column("id", String(32), primary_key=True),
    owned_by("club"),
    owned_by("gymnast", nullable=True),
    Column("wrapped", LargeBinary, nullable=False),
    Column("made_at", UtcDateTime, nullable=False),
    UniqueConstraint("gymnast_id"),
    rule("id", "length(id) = 32"),
    # One key of a club for pictures of nobody yet.
    Index(
        "uq_vault_key_club_id",
        "club_id",
        unique=True,
        sqlite_where=column("gymnast_id").is_(None),
        postgresql_where=column("gymnast_id").is_(None),
    ),
)
