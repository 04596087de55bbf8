"""Who said what a family allows, and who was erased."""

import sqlalchemy as sa
from alembic import op

from chordline.adapters.db.column_types import RowId, UtcDateTime

revision = "0010"
down_revision = "0009"


def upgrade() -> None:
    """Let a consent have its day and its words; make the table of who was erased."""
    op.add_column("gymnast", sa.Column("consent_said_on", sa.Date))
    op.add_column("gymnast", sa.Column("consent_said_by", sa.String(200)))
    op.add_column("gymnast", sa.Column("consent_note", sa.String(2000)))
    op.create_table(
        "erased",
        sa.Column("gymnast_number", RowId, nullable=False, autoincrement=False),
        sa.Column("erased_at", UtcDateTime, nullable=False),
        sa.Column("by", sa.String(200), nullable=False),
        sa.PrimaryKeyConstraint("gymnast_number", name="pk_erased"),
    )


def downgrade() -> None:
    """There is no way back: restore a backup."""
    raise NotImplementedError
