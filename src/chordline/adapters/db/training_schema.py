"""The tables of training: how groups train, plans, sessions, what was done, skills."""

from sqlalchemy import (
    Boolean,
    Column,
    Date,
    Float,
    ForeignKey,
    Index,
    Integer,
    String,
    Table,
    Time,
    UniqueConstraint,
)

from chordline.adapters.db.column_types import JsonText, RowId, UtcDateTime
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
from chordline.application.training.records import SESSION_STATES


def _key_of(table: str) -> Column[int]:
    """Return a part of the key that is the number of another table's row and goes with it."""
    owner = ForeignKey(f"{table}.id", ondelete="CASCADE")
    return Column(f"{table}_id", RowId, owner, primary_key=True, autoincrement=False)


GROUP_TRAINING = Table(
    "group_training",
    METADATA,
    _key_of("gym_group"),
    Column("weekdays", JsonText, nullable=False),
    Column("starts_at", Time),
    Column("minutes", Integer, nullable=False),
    Column("coaches", Integer, nullable=False),
    Column("version", Integer, nullable=False),
    rule("minutes", "minutes BETWEEN 1 AND 480"),
    rule("coaches", "coaches BETWEEN 0 AND 50"),
    rule("version", "version >= 1"),
)

STATION = Table(
    "station",
    METADATA,
    _key_of("gym_group"),
    Column("place", Integer, primary_key=True, autoincrement=False),
    text_column("name", longest=60),
    Column("places", Integer, nullable=False),
    Column("equipment", JsonText, nullable=False),
    length_within("name", 60),
    rule("places", "places BETWEEN 1 AND 60"),
)

TRAINING_LEVEL = Table(
    "training_level",
    METADATA,
    _key_of("gymnast"),
    Column("level", Integer, nullable=False),
    rule("level", "level BETWEEN 1 AND 3"),
)

TRAINING_PLAN = Table(
    "training_plan",
    METADATA,
    id_column(),
    owned_by("gym_group"),
    Column("first_day", Date, nullable=False),
    Column("record", JsonText, nullable=False),
    Column("made_at", UtcDateTime, nullable=False),
    text_column("author"),
    length_within("author", 200),
    Index(None, "gym_group_id", "id"),
    **NEVER_TWICE,
)

TRAINING_SESSION = Table(
    "training_session",
    METADATA,
    id_column(),
    owned_by("gym_group"),
    Column("held_on", Date, nullable=False),
    Column("training_plan_id", RowId, ForeignKey("training_plan.id", ondelete="SET NULL")),
    Column("record", JsonText, nullable=False),
    text_column("state", longest=20),
    Column("version", Integer, nullable=False),
    UniqueConstraint("gym_group_id", "held_on"),
    one_of("state", SESSION_STATES),
    rule("version", "version >= 1"),
    Index(None, "training_plan_id"),
    **NEVER_TWICE,
)

ATTENDANCE = Table(
    "attendance",
    METADATA,
    _key_of("training_session"),
    _key_of("gymnast"),
    Column("present", Boolean, nullable=False),
    Index(None, "gymnast_id"),
)

WORK_DONE = Table(
    "work_done",
    METADATA,
    _key_of("training_session"),
    _key_of("gymnast"),
    Column("exercise", String(60), primary_key=True),
    Column("share", Float, nullable=False),
    Column("minutes", Float, nullable=False),
    text_column("author"),
    length_within("exercise", 60),
    length_within("author", 200),
    rule("share", "share BETWEEN 0 AND 1"),
    rule("minutes", "minutes >= 0 AND minutes <= 480"),
    Index(None, "gymnast_id"),
)

SKILL = Table(
    "skill",
    METADATA,
    _key_of("gymnast"),
    Column("rung", String(60), primary_key=True),
    Column("reached_on", Date, nullable=False),
    text_column("author"),
    length_within("rung", 60),
    length_within("author", 200),
)
