"""Videos and what was read off them."""

from typing import Any

import sqlalchemy as sa
from alembic import op

from chordline.adapters.db.column_types import JsonText, RowId, UtcDateTime
from chordline.adapters.db.migrations.versions.r0001_first_tables import HOLD

revision = "0007"
down_revision = "0006"

_NEVER_TWICE: dict[str, Any] = {"sqlite_autoincrement": True}
_WAITING = sa.text("state = 'waiting'")


def upgrade() -> None:
    """Make the tables of videos; holds and jobs may be a video's."""
    _make_videos()
    _make_what_was_read()
    _give_to_videos(_hold_before())
    op.add_column("hold", sa.Column("rel_sd", sa.Float))
    _give_to_videos(_job_before())
    op.create_index(
        "uq_job_kind_video_id",
        "job",
        ["kind", "video_id"],
        unique=True,
        sqlite_where=_WAITING,
        postgresql_where=_WAITING,
    )


def _give_to_videos(before: sa.Table) -> None:
    """Let rows of a table go with a video; SQLite copies the table, to watch the key."""
    with op.batch_alter_table(before.name, copy_from=before) as table:
        table.add_column(sa.Column("video_id", RowId))
        name = f"fk_{before.name}_video_id"
        table.create_foreign_key(name, "video", ["video_id"], ["id"], ondelete="CASCADE")
    op.create_index(f"ix_{before.name}_video_id", before.name, ["video_id"])


def _hold_before() -> sa.Table:
    return HOLD.to_metadata(sa.MetaData(naming_convention=HOLD.metadata.naming_convention))


def _job_before() -> sa.Table:
    return sa.Table(
        "job",
        sa.MetaData(naming_convention=HOLD.metadata.naming_convention),
        sa.Column("id", RowId, primary_key=True),
        sa.Column("club_id", RowId, sa.ForeignKey("club.id", ondelete="CASCADE"), nullable=False),
        sa.Column("kind", sa.String(40), nullable=False),
        sa.Column("photo_id", RowId, sa.ForeignKey("photo.id", ondelete="CASCADE")),
        sa.Column("payload", JsonText, nullable=False),
        sa.Column("state", sa.String(20), nullable=False),
        sa.Column("attempts", sa.Integer, nullable=False),
        sa.Column("worker", sa.String(200)),
        sa.Column("lease_until", UtcDateTime),
        sa.Column("error", sa.String(2000)),
        sa.Column("changed_at", UtcDateTime, nullable=False),
        sa.CheckConstraint("state IN ('waiting', 'running', 'done', 'failed')", "state"),
        sa.CheckConstraint(
            "(state = 'running') = (worker IS NOT NULL AND lease_until IS NOT NULL)", "lease"
        ),
        sa.CheckConstraint("(state = 'failed') = (error IS NOT NULL)", "error"),
        sa.Index("ix_job_state_id", "state", "id"),
        sa.Index("ix_job_photo_id", "photo_id"),
        sa.Index(
            "uq_job_kind_photo_id",
            "kind",
            "photo_id",
            unique=True,
            sqlite_where=_WAITING,
            postgresql_where=_WAITING,
        ),
        **_NEVER_TWICE,
    )


def _make_videos() -> None:
    op.create_table(
        "video",
        sa.Column("id", RowId, nullable=False),
        sa.Column("club_id", RowId, nullable=False),
        sa.Column("screen_id", RowId),
        sa.Column("key_photo_id", RowId),
        sa.Column("name", sa.String(255), nullable=False),
        sa.Column("sha256", sa.String(64), nullable=False),
        sa.Column("size_bytes", RowId, nullable=False),
        sa.Column("content_key", sa.String(200)),
        sa.Column("keep_file", sa.Boolean, nullable=False),
        sa.Column("test", sa.String(60)),
        sa.Column("near_side", sa.String(10)),
        sa.Column("front", sa.String(10)),
        sa.Column("person", sa.Integer),
        sa.Column("from_s", sa.Float),
        sa.Column("to_s", sa.Float),
        sa.Column("taken_on", sa.Date),
        sa.Column("duration_s", sa.Float),
        sa.Column("width_px", sa.Integer, nullable=False),
        sa.Column("height_px", sa.Integer, nullable=False),
        sa.Column("working_width_px", sa.Integer, nullable=False),
        sa.Column("rate_hz", sa.Float, nullable=False),
        sa.Column("state", sa.String(20), nullable=False),
        sa.Column("reason", sa.String(2000)),
        sa.Column("revision", sa.Integer, nullable=False),
        sa.Column("received_at", UtcDateTime, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_video"),
        sa.ForeignKeyConstraint(["club_id"], ["club.id"], "fk_video_club_id", ondelete="CASCADE"),
        sa.ForeignKeyConstraint(
            ["screen_id"], ["screen.id"], "fk_video_screen_id", ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(
            ["key_photo_id"], ["photo.id"], "fk_video_key_photo_id", ondelete="SET NULL"
        ),
        sa.UniqueConstraint("club_id", "sha256", name="uq_video_club_id_sha256"),
        sa.CheckConstraint("length(name) BETWEEN 1 AND 255", "name_length"),
        sa.CheckConstraint("length(sha256) = 64", "sha256"),
        sa.CheckConstraint("size_bytes > 0", "size_bytes"),
        sa.CheckConstraint("near_side IN ('left', 'right')", "near_side"),
        sa.CheckConstraint("front IN ('up', 'down', 'left', 'right')", "front"),
        sa.CheckConstraint("person >= 1", "person"),
        sa.CheckConstraint("from_s >= 0", "from_s"),
        sa.CheckConstraint("to_s > coalesce(from_s, 0)", "to_s"),
        sa.CheckConstraint(
            "state IN ('arrived', 'waiting', 'measured', 'needs_look', 'refused')", "state"
        ),
        sa.CheckConstraint(
            "state NOT IN ('needs_look', 'refused') OR reason IS NOT NULL", "reason"
        ),
        **_NEVER_TWICE,
    )
    op.create_index("ix_video_screen_id", "video", ["screen_id"])
    op.create_index("ix_video_club_id_state", "video", ["club_id", "state"])
    op.create_index("ix_video_content_key", "video", ["content_key"])
    op.create_index("ix_video_key_photo_id", "video", ["key_photo_id"])


def _make_what_was_read() -> None:
    op.create_table(
        "video_measurement",
        sa.Column("video_id", RowId, nullable=False, autoincrement=False),
        sa.Column("revision", sa.Integer, nullable=False),
        sa.Column("record", JsonText, nullable=False),
        sa.Column("model", sa.String(200), nullable=False),
        sa.Column("catalogue", sa.String(200), nullable=False),
        sa.Column("measured_at", UtcDateTime, nullable=False),
        sa.PrimaryKeyConstraint("video_id", name="pk_video_measurement"),
        sa.ForeignKeyConstraint(
            ["video_id"], ["video.id"], "fk_video_measurement_video_id", ondelete="CASCADE"
        ),
    )
    op.create_table(
        "video_track",
        sa.Column("video_id", RowId, nullable=False, autoincrement=False),
        sa.Column("number", sa.Integer, nullable=False, autoincrement=False),
        sa.Column("key", sa.String(64), nullable=False),
        sa.Column("until_s", sa.Float, nullable=False),
        sa.Column("piece", sa.LargeBinary, nullable=False),
        sa.PrimaryKeyConstraint("video_id", "number", name="pk_video_track"),
        sa.ForeignKeyConstraint(
            ["video_id"], ["video.id"], "fk_video_track_video_id", ondelete="CASCADE"
        ),
        sa.CheckConstraint("number >= 0", "number"),
    )


def downgrade() -> None:
    """There is no way back: restore a backup."""
    raise NotImplementedError
