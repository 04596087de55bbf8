"""Repeatability: studies of marks, and the errors that a club found for itself."""

from typing import Any

import sqlalchemy as sa
from alembic import op

from chordline.adapters.db.column_types import JsonText, RowId, UtcDateTime

revision = "0006"
down_revision = "0005"

_NEVER_TWICE: dict[str, Any] = {"sqlite_autoincrement": True}


def upgrade() -> None:
    """Make the tables of studies."""
    _make_studies()
    _make_tasks()
    _make_noise()


def _gone_with(table: str, owner: str) -> sa.ForeignKeyConstraint:
    column = f"{owner}_id"
    return sa.ForeignKeyConstraint(
        [column], [f"{owner}.id"], f"fk_{table}_{column}", ondelete="CASCADE"
    )


def _make_studies() -> None:
    op.create_table(
        "study",
        sa.Column("id", RowId, nullable=False),
        sa.Column("club_id", RowId, nullable=False),
        sa.Column("seed", sa.Integer, nullable=False),
        sa.Column("twice", sa.Boolean, nullable=False),
        sa.Column("author", sa.String(200), nullable=False),
        sa.Column("begun_at", UtcDateTime, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_study"),
        _gone_with("study", "club"),
        sa.CheckConstraint("length(author) BETWEEN 1 AND 200", "author_length"),
        **_NEVER_TWICE,
    )
    op.create_index("ix_study_club_id_id", "study", ["club_id", "id"])
    op.create_table(
        "study_photo",
        sa.Column("study_id", RowId, nullable=False, autoincrement=False),
        sa.Column("photo_id", RowId, nullable=False, autoincrement=False),
        sa.Column("place", sa.Integer, nullable=False),
        sa.PrimaryKeyConstraint("study_id", "photo_id", name="pk_study_photo"),
        _gone_with("study_photo", "study"),
        _gone_with("study_photo", "photo"),
    )
    op.create_index("ix_study_photo_photo_id", "study_photo", ["photo_id"])


def _make_tasks() -> None:
    op.create_table(
        "study_task",
        sa.Column("id", RowId, nullable=False),
        sa.Column("study_id", RowId, nullable=False),
        sa.Column("photo_id", RowId, nullable=False),
        sa.Column("coach", sa.String(200), nullable=False),
        sa.Column("place", sa.Integer, nullable=False),
        sa.Column("turn", sa.Integer, nullable=False),
        sa.Column("record", JsonText),
        sa.Column("done_at", UtcDateTime),
        sa.PrimaryKeyConstraint("id", name="pk_study_task"),
        _gone_with("study_task", "study"),
        _gone_with("study_task", "photo"),
        sa.UniqueConstraint("study_id", "coach", "place", name="uq_study_task_place"),
        sa.UniqueConstraint("study_id", "coach", "photo_id", "turn", name="uq_study_task_turn"),
        sa.CheckConstraint("length(coach) BETWEEN 1 AND 200", "coach_length"),
        sa.CheckConstraint("turn BETWEEN 1 AND 2", "turn"),
        sa.CheckConstraint("(done_at IS NULL) = (record IS NULL)", "done"),
        **_NEVER_TWICE,
    )
    op.create_index("ix_study_task_photo_id", "study_task", ["photo_id"])


def _make_noise() -> None:
    op.create_table(
        "club_noise",
        sa.Column("id", RowId, nullable=False),
        sa.Column("club_id", RowId, nullable=False),
        sa.Column("record", JsonText, nullable=False),
        sa.Column("in_use", sa.Boolean, nullable=False),
        sa.Column("author", sa.String(200), nullable=False),
        sa.Column("made_at", UtcDateTime, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_club_noise"),
        _gone_with("club_noise", "club"),
        sa.CheckConstraint("length(author) BETWEEN 1 AND 200", "author_length"),
        **_NEVER_TWICE,
    )
    op.create_index(
        "uq_club_noise_club_id",
        "club_noise",
        ["club_id"],
        unique=True,
        sqlite_where=sa.column("in_use") == sa.true(),
        postgresql_where=sa.column("in_use") == sa.true(),
    )


def downgrade() -> None:
    """There is no way back: restore a backup."""
    raise NotImplementedError
