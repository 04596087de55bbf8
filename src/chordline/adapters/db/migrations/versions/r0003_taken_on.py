"""The day on which a photo was taken, before anybody knows whose it is."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"


def upgrade() -> None:
    """Give photos their day."""
    op.add_column("photo", sa.Column("taken_on", sa.Date))


def downgrade() -> None:
    """There is no way back: restore a backup."""
    raise NotImplementedError
