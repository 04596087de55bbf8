"""The queue: worst photos first, jobs that survive a kill, forms that are sent twice."""

import sqlalchemy as sa
from alembic import op

from chordline.adapters.db.column_types import JsonText, RowId, UtcDateTime
from chordline.adapters.db.migrations.versions.r0001_first_tables import PHOTO

revision = "0002"
down_revision = "0001"

_NEEDS_LOOK = "state IN ('needs_look', 'refused')"


def upgrade() -> None:
    """Give photos their worry, and make the tables of jobs and sent forms."""
    op.add_column("photo", sa.Column("worry", sa.Float))
    op.execute(
        "UPDATE photo SET worry = CASE state WHEN 'refused' THEN 100.0 ELSE 1.0 END "
        f"WHERE {_NEEDS_LOOK}"
    )
    _watch_worry()
    _make_jobs()
    op.create_table(
        "sent_form",
        sa.Column("token", sa.String(100), nullable=False),
        sa.Column("sent_at", UtcDateTime, nullable=False),
        sa.PrimaryKeyConstraint("token", name="pk_sent_form"),
        sa.CheckConstraint("length(token) BETWEEN 1 AND 100", "token_length"),
    )


def _watch_worry() -> None:
    there = PHOTO.to_metadata(sa.MetaData(naming_convention=PHOTO.metadata.naming_convention))
    there.append_column(sa.Column("worry", sa.Float))
    with op.batch_alter_table("photo", copy_from=there) as photo:
        photo.create_check_constraint("worry", f"({_NEEDS_LOOK}) = (worry IS NOT NULL)")
    worried = sa.text("worry IS NOT NULL")
    op.create_index(
        "ix_photo_queue",
        "photo",
        ["club_id", sa.text("worry DESC"), "id"],
        sqlite_where=worried,
        postgresql_where=worried,
    )


def _make_jobs() -> None:
    states = "state IN ('waiting', 'running', 'done', 'failed')"
    lease = "(state = 'running') = (worker IS NOT NULL AND lease_until IS NOT NULL)"
    op.create_table(
        "job",
        sa.Column("id", RowId, nullable=False),
        sa.Column("club_id", RowId, nullable=False),
        sa.Column("kind", sa.String(40), nullable=False),
        sa.Column("photo_id", RowId),
        sa.Column("payload", JsonText, nullable=False),
        sa.Column("state", sa.String(20), nullable=False),
        sa.Column("attempts", sa.Integer, nullable=False),
        sa.Column("worker", sa.String(200)),
        sa.Column("lease_until", UtcDateTime),
        sa.Column("error", sa.String(2000)),
        sa.Column("changed_at", UtcDateTime, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_job"),
        sa.ForeignKeyConstraint(["club_id"], ["club.id"], "fk_job_club_id", ondelete="CASCADE"),
        sa.ForeignKeyConstraint(["photo_id"], ["photo.id"], "fk_job_photo_id", ondelete="CASCADE"),
        sa.CheckConstraint(states, "state"),
        sa.CheckConstraint(lease, "lease"),
        sa.CheckConstraint("(state = 'failed') = (error IS NOT NULL)", "error"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_job_state_id", "job", ["state", "id"])
    op.create_index("ix_job_photo_id", "job", ["photo_id"])
    waiting = sa.text("state = 'waiting'")
    op.create_index(
        "uq_job_kind_photo_id",
        "job",
        ["kind", "photo_id"],
        unique=True,
        sqlite_where=waiting,
        postgresql_where=waiting,
    )


def downgrade() -> None:
    """There is no way back: restore a backup."""
    raise NotImplementedError
