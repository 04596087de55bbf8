"""The tables of accounts: who may log in, who is logged in, and the trail of who saw what."""

from sqlalchemy import Boolean, Column, Index, Integer, String, Table, UniqueConstraint

from chordline.adapters.db.column_types import CodePoints, RowId, UtcDateTime
from chordline.adapters.db.table_parts import (
    METADATA,
    NEVER_TWICE,
    id_column,
    length_within,
    one_of,
    owned_by,
    rule,
    text_column,
)
from chordline.application.accounts.records import ROLES, WHATS

ACCOUNT = Table(
    "account",
    METADATA,
    id_column(),
    owned_by("club"),
    text_column("name"),
    Column("name_key", CodePoints, nullable=False),
    text_column("role", longest=20),
    text_column("password_hash", longest=300),
    Column("must_change", Boolean, nullable=False),
    Column("disabled_at", UtcDateTime),
    Column("created_at", UtcDateTime, nullable=False),
    UniqueConstraint("club_id", "name_key"),
    length_within("name", 200),
    one_of("role", ROLES),
    **NEVER_TWICE,
)

LOGIN = Table(
    "login",
    METADATA,
    id_column(),
    owned_by("account"),
    text_column("token_sha256", longest=64),
    text_column("device"),
    Column("made_at", UtcDateTime, nullable=False),
    Column("seen_at", UtcDateTime, nullable=False),
    Column("expires_at", UtcDateTime, nullable=False),
    UniqueConstraint("token_sha256"),
    rule("token_sha256", "length(token_sha256) = 64"),
    Index(None, "account_id"),
    **NEVER_TWICE,
)

PAIRING = Table(
    "pairing",
    METADATA,
    id_column(),
    owned_by("account"),
    text_column("token_sha256", longest=64),
    Column("made_at", UtcDateTime, nullable=False),
    Column("expires_at", UtcDateTime, nullable=False),
    Column("used_at", UtcDateTime),
    UniqueConstraint("token_sha256"),
    rule("token_sha256", "length(token_sha256) = 64"),
    Index(None, "account_id"),
    **NEVER_TWICE,
)

LOGIN_TRIES = Table(
    "login_tries",
    METADATA,
    Column("key", String(100), primary_key=True),
    Column("failures", Integer, nullable=False),
    Column("last_at", UtcDateTime, nullable=False),
)

#: No line goes with a gymnast or an account: what is left of her is a number.
TRAIL = Table(
    "trail",
    METADATA,
    id_column(),
    owned_by("club"),
    Column("at", UtcDateTime, nullable=False),
    text_column("who"),
    Column("account_id", RowId),
    text_column("what", longest=20),
    text_column("about"),
    Column("gymnast_id", RowId),
    text_column("device"),
    one_of("what", WHATS),
    Index(None, "club_id", "id"),
    Index(None, "gymnast_id", "id"),
    Index(None, "who", "id"),
    Index(None, "at"),
    **NEVER_TWICE,
)
