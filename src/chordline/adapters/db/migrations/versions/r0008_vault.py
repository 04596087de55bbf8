"""Keys of pictures."""

import sqlalchemy as sa
from alembic import op

from chordline.adapters.db.column_types import RowId, UtcDateTime

revision = "0008"
down_revision = "0007"


def upgrade() -> None:
    """Make the table of wrapped keys."""
    op.create_table(
        "vault_key",
        sa.Column("id", sa.String(32), nullable=False),
        sa.Column("club_id", RowId, nullable=False),
        sa.Column("gymnast_id", RowId),
        sa.Column("wrapped", sa.LargeBinary, nullable=False),
        sa.Column("made_at", UtcDateTime, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_vault_key"),
        sa.ForeignKeyConstraint(
            ["club_id"], ["club.id"], "fk_vault_key_club_id", ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(
            ["gymnast_id"], ["gymnast.id"], "fk_vault_key_gymnast_id", ondelete="CASCADE"
        ),
        sa.UniqueConstraint("gymnast_id", name="uq_vault_key_gymnast_id"),
        sa.CheckConstraint("length(id) = 32", "id"),
    )
    op.create_index(
        "uq_vault_key_club_id",
        "vault_key",
        ["club_id"],
        unique=True,
        sqlite_where=sa.column("gymnast_id").is_(None),
        postgresql_where=sa.column("gymnast_id").is_(None),
    )


def downgrade() -> None:
    """There is no way back: restore a backup."""
    raise NotImplementedError
