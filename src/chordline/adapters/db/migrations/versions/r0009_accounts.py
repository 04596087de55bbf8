"""Accounts, logins and the trail."""

from typing import Any

import sqlalchemy as sa
from alembic import op

from chordline.adapters.db.column_types import CodePoints, RowId, UtcDateTime

revision = "0009"
down_revision = "0008"

_NEVER_TWICE: dict[str, Any] = {"sqlite_autoincrement": True}
_WHATS = "'saw', 'exported', 'changed', 'erased', 'login', 'login failed', 'logout'"


def upgrade() -> None:
    """Make the tables of accounts."""
    _make_accounts()
    _make_logins()
    _make_trail()


def _gone_with(table: str, owner: str) -> sa.ForeignKeyConstraint:
    column = f"{owner}_id"
    return sa.ForeignKeyConstraint(
        [column], [f"{owner}.id"], f"fk_{table}_{column}", ondelete="CASCADE"
    )


def _make_accounts() -> None:
    op.create_table(
        "account",
        sa.Column("id", RowId, nullable=False),
        sa.Column("club_id", RowId, nullable=False),
        sa.Column("name", sa.String(200), nullable=False),
        sa.Column("name_key", CodePoints, nullable=False),
        sa.Column("role", sa.String(20), nullable=False),
        sa.Column("password_hash", sa.String(300), nullable=False),
        sa.Column("must_change", sa.Boolean, nullable=False),
        sa.Column("disabled_at", UtcDateTime),
        sa.Column("created_at", UtcDateTime, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_account"),
        _gone_with("account", "club"),
        sa.UniqueConstraint("club_id", "name_key", name="uq_account_club_id_name_key"),
        sa.CheckConstraint("length(name) BETWEEN 1 AND 200", "name_length"),
        sa.CheckConstraint("role IN ('lead', 'coach', 'guest')", "role"),
        **_NEVER_TWICE,
    )
    op.create_table(
        "login_tries",
        sa.Column("key", sa.String(100), nullable=False),
        sa.Column("failures", sa.Integer, nullable=False),
        sa.Column("last_at", UtcDateTime, nullable=False),
        sa.PrimaryKeyConstraint("key", name="pk_login_tries"),
    )


def _make_logins() -> None:
    for table, moments in (
        ("login", (("seen_at", False), ("expires_at", False))),
        ("pairing", (("expires_at", False), ("used_at", True))),
    ):
        words = [sa.Column("device", sa.String(200), nullable=False)] if table == "login" else []
        op.create_table(
            table,
            sa.Column("id", RowId, nullable=False),
            sa.Column("account_id", RowId, nullable=False),
            sa.Column("token_sha256", sa.String(64), nullable=False),
            *words,
            sa.Column("made_at", UtcDateTime, nullable=False),
            *(sa.Column(name, UtcDateTime, nullable=nullable) for name, nullable in moments),
            sa.PrimaryKeyConstraint("id", name=f"pk_{table}"),
            _gone_with(table, "account"),
            sa.UniqueConstraint("token_sha256", name=f"uq_{table}_token_sha256"),
            sa.CheckConstraint("length(token_sha256) = 64", "token_sha256"),
            **_NEVER_TWICE,
        )
        op.create_index(f"ix_{table}_account_id", table, ["account_id"])


def _make_trail() -> None:
    op.create_table(
        "trail",
        sa.Column("id", RowId, nullable=False),
        sa.Column("club_id", RowId, nullable=False),
        sa.Column("at", UtcDateTime, nullable=False),
        sa.Column("who", sa.String(200), nullable=False),
        sa.Column("account_id", RowId),
        sa.Column("what", sa.String(20), nullable=False),
        sa.Column("about", sa.String(200), nullable=False),
        sa.Column("gymnast_id", RowId),
        sa.Column("device", sa.String(200), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_trail"),
        _gone_with("trail", "club"),
        sa.CheckConstraint(f"what IN ({_WHATS})", "what"),
        **_NEVER_TWICE,
    )
    op.create_index("ix_trail_club_id_id", "trail", ["club_id", "id"])
    op.create_index("ix_trail_gymnast_id_id", "trail", ["gymnast_id", "id"])
    op.create_index("ix_trail_who_id", "trail", ["who", "id"])
    op.create_index("ix_trail_at", "trail", ["at"])


def downgrade() -> None:
    """There is no way back: restore a backup."""
    raise NotImplementedError
