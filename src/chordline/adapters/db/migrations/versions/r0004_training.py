"""Training: how groups train, plans, sessions, what was done, skills."""

from typing import Any

import sqlalchemy as sa
from alembic import op

from chordline.adapters.db.column_types import JsonText, RowId, UtcDateTime

revision = "0004"
down_revision = "0003"

_NEVER_TWICE: dict[str, Any] = {"sqlite_autoincrement": True}


def upgrade() -> None:
    """Make the tables of training."""
    _make_groups()
    _make_plans()
    _make_gymnasts()


def _key(name: str) -> sa.Column[int]:
    return sa.Column(name, RowId, nullable=False, autoincrement=False)


def _gone_with(table: str, owner: str) -> sa.ForeignKeyConstraint:
    column = f"{owner}_id"
    return sa.ForeignKeyConstraint(
        [column], [f"{owner}.id"], f"fk_{table}_{column}", ondelete="CASCADE"
    )


def _make_groups() -> None:
    op.create_table(
        "group_training",
        _key("gym_group_id"),
        sa.Column("weekdays", JsonText, nullable=False),
        sa.Column("starts_at", sa.Time),
        sa.Column("minutes", sa.Integer, nullable=False),
        sa.Column("coaches", sa.Integer, nullable=False),
        sa.Column("version", sa.Integer, nullable=False),
        sa.PrimaryKeyConstraint("gym_group_id", name="pk_group_training"),
        _gone_with("group_training", "gym_group"),
        sa.CheckConstraint("minutes BETWEEN 1 AND 480", "minutes"),
        sa.CheckConstraint("coaches BETWEEN 0 AND 50", "coaches"),
        sa.CheckConstraint("version >= 1", "version"),
    )
    op.create_table(
        "station",
        _key("gym_group_id"),
        sa.Column("place", sa.Integer, nullable=False, autoincrement=False),
        sa.Column("name", sa.String(60), nullable=False),
        sa.Column("places", sa.Integer, nullable=False),
        sa.Column("equipment", JsonText, nullable=False),
        sa.PrimaryKeyConstraint("gym_group_id", "place", name="pk_station"),
        _gone_with("station", "gym_group"),
        sa.CheckConstraint("length(name) BETWEEN 1 AND 60", "name_length"),
        sa.CheckConstraint("places BETWEEN 1 AND 60", "places"),
    )


def _make_plans() -> None:
    op.create_table(
        "training_plan",
        sa.Column("id", RowId, nullable=False),
        sa.Column("gym_group_id", RowId, nullable=False),
        sa.Column("first_day", sa.Date, nullable=False),
        sa.Column("record", JsonText, nullable=False),
        sa.Column("made_at", UtcDateTime, nullable=False),
        sa.Column("author", sa.String(200), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_training_plan"),
        _gone_with("training_plan", "gym_group"),
        sa.CheckConstraint("length(author) BETWEEN 1 AND 200", "author_length"),
        **_NEVER_TWICE,
    )
    op.create_index("ix_training_plan_gym_group_id_id", "training_plan", ["gym_group_id", "id"])
    op.create_table(
        "training_session",
        sa.Column("id", RowId, nullable=False),
        sa.Column("gym_group_id", RowId, nullable=False),
        sa.Column("held_on", sa.Date, nullable=False),
        sa.Column("training_plan_id", RowId),
        sa.Column("record", JsonText, nullable=False),
        sa.Column("state", sa.String(20), nullable=False),
        sa.Column("version", sa.Integer, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_training_session"),
        _gone_with("training_session", "gym_group"),
        sa.ForeignKeyConstraint(
            ["training_plan_id"],
            ["training_plan.id"],
            "fk_training_session_training_plan_id",
            ondelete="SET NULL",
        ),
        sa.UniqueConstraint(
            "gym_group_id", "held_on", name="uq_training_session_gym_group_id_held_on"
        ),
        sa.CheckConstraint("state IN ('planned', 'running', 'ended')", "state"),
        sa.CheckConstraint("version >= 1", "version"),
        **_NEVER_TWICE,
    )
    op.create_index(
        "ix_training_session_training_plan_id", "training_session", ["training_plan_id"]
    )


def _make_gymnasts() -> None:
    op.create_table(
        "training_level",
        _key("gymnast_id"),
        sa.Column("level", sa.Integer, nullable=False),
        sa.PrimaryKeyConstraint("gymnast_id", name="pk_training_level"),
        _gone_with("training_level", "gymnast"),
        sa.CheckConstraint("level BETWEEN 1 AND 3", "level"),
    )
    op.create_table(
        "attendance",
        _key("training_session_id"),
        _key("gymnast_id"),
        sa.Column("present", sa.Boolean, nullable=False),
        sa.PrimaryKeyConstraint("training_session_id", "gymnast_id", name="pk_attendance"),
        _gone_with("attendance", "training_session"),
        _gone_with("attendance", "gymnast"),
    )
    op.create_index("ix_attendance_gymnast_id", "attendance", ["gymnast_id"])
    op.create_table(
        "work_done",
        _key("training_session_id"),
        _key("gymnast_id"),
        sa.Column("exercise", sa.String(60), nullable=False),
        sa.Column("share", sa.Float, nullable=False),
        sa.Column("minutes", sa.Float, nullable=False),
        sa.Column("author", sa.String(200), nullable=False),
        sa.PrimaryKeyConstraint(
            "training_session_id", "gymnast_id", "exercise", name="pk_work_done"
        ),
        _gone_with("work_done", "training_session"),
        _gone_with("work_done", "gymnast"),
        sa.CheckConstraint("length(exercise) BETWEEN 1 AND 60", "exercise_length"),
        sa.CheckConstraint("length(author) BETWEEN 1 AND 200", "author_length"),
        sa.CheckConstraint("share BETWEEN 0 AND 1", "share"),
        sa.CheckConstraint("minutes >= 0 AND minutes <= 480", "minutes"),
    )
    op.create_index("ix_work_done_gymnast_id", "work_done", ["gymnast_id"])
    op.create_table(
        "skill",
        _key("gymnast_id"),
        sa.Column("rung", sa.String(60), nullable=False),
        sa.Column("reached_on", sa.Date, nullable=False),
        sa.Column("author", sa.String(200), nullable=False),
        sa.PrimaryKeyConstraint("gymnast_id", "rung", name="pk_skill"),
        _gone_with("skill", "gymnast"),
        sa.CheckConstraint("length(rung) BETWEEN 1 AND 60", "rung_length"),
        sa.CheckConstraint("length(author) BETWEEN 1 AND 200", "author_length"),
    )


def downgrade() -> None:
    """There is no way back: restore a backup."""
    raise NotImplementedError
