"""The tables of repeatability: studies of marks, and the errors that a club found for itself."""

from sqlalchemy import (
    Boolean,
    Column,
    ForeignKey,
    Index,
    Integer,
    Table,
    UniqueConstraint,
    column,
    true,
)

from chordline.adapters.db.column_types import JsonText, RowId, UtcDateTime
from chordline.adapters.db.table_parts import (
    METADATA,
    NEVER_TWICE,
    id_column,
    length_within,
    owned_by,
    rule,
    text_column,
)

STUDY = Table(
    "study",
    METADATA,
    id_column(),
    owned_by("club"),
    Column("seed", Integer, nullable=False),
    Column("twice", Boolean, nullable=False),
    text_column("author"),
    Column("begun_at", UtcDateTime, nullable=False),
    length_within("author", 200),
    Index(None, "club_id", "id"),
    **NEVER_TWICE,
)

STUDY_PHOTO = Table(
    "study_photo",
    METADATA,
    Column(
        "study_id",
        RowId,
        ForeignKey("study.id", ondelete="CASCADE"),
        primary_key=True,
        autoincrement=False,
    ),
    Column(
        "photo_id",
        RowId,
        ForeignKey("photo.id", ondelete="CASCADE"),
        primary_key=True,
        autoincrement=False,
    ),
    Column("place", Integer, nullable=False),
    Index(None, "photo_id"),
)

STUDY_TASK = Table(
    "study_task",
    METADATA,
    id_column(),
    owned_by("study"),
    owned_by("photo"),
    text_column("coach"),
    Column("place", Integer, nullable=False),
    Column("turn", Integer, nullable=False),
    Column("record", JsonText(none_as_null=True)),
    Column("done_at", UtcDateTime),
    UniqueConstraint("study_id", "coach", "place", name="uq_study_task_place"),
    UniqueConstraint("study_id", "coach", "photo_id", "turn", name="uq_study_task_turn"),
    length_within("coach", 200),
    rule("turn", "turn BETWEEN 1 AND 2"),
    rule("done", "(done_at IS NULL) = (record IS NULL)"),
    Index(None, "photo_id"),
    **NEVER_TWICE,
)

CLUB_NOISE = Table(
    "club_noise",
    METADATA,
    id_column(),
    owned_by("club"),
    Column("record", JsonText, nullable=False),
    Column("in_use", Boolean, nullable=False),
    text_column("author"),
    Column("made_at", UtcDateTime, nullable=False),
    length_within("author", 200),
    Index(
        "uq_club_noise_club_id",
        "club_id",
        unique=True,
        sqlite_where=column("in_use") == true(),
        postgresql_where=column("in_use") == true(),
    ),
    **NEVER_TWICE,
)
