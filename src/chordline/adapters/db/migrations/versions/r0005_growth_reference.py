"""Which reference table a gymnast's growth is compared with; not said until somebody says it."""

from alembic import op

revision = "0005"
down_revision = "0004"

#: The rule stands within the column, so that SQLite need not copy the gymnasts.
_COLUMN = (
    "ALTER TABLE gymnast ADD COLUMN growth_reference VARCHAR(20) "
    "CONSTRAINT ck_gymnast_growth_reference CHECK (growth_reference IN ('girls', 'boys'))"
)


def upgrade() -> None:
    """Give gymnasts their growth reference."""
    op.execute(_COLUMN)


def downgrade() -> None:
    """There is no way back: restore a backup."""
    raise NotImplementedError
