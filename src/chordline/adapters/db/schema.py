"""The tables of the club's records. Migrations bring a database to this state."""

from sqlalchemy import (
    Boolean,
    Column,
    Date,
    Float,
    ForeignKey,
    ForeignKeyConstraint,
    Index,
    Integer,
    String,
    Table,
    UniqueConstraint,
    column,
)

# Their tables are in METADATA too once they are imported.
from chordline.adapters.db import (  # noqa: F401
    account_schema,
    erased_schema,
    study_schema,
    table_parts,
    training_schema,
    vault_schema,
    video_schema,
)
from chordline.adapters.db.column_types import CodePoints, JsonText, RowId, UtcDateTime
from chordline.adapters.db.table_parts import (
    NEVER_TWICE,
    id_column,
    length_within,
    one_of,
    owned_by,
    rule,
    text_column,
)
from chordline.application.club.growth_reference import GROWTH_REFERENCES
from chordline.application.club.records import JOB_STATES, NOTE_KINDS, PHOTO_STATES
from chordline.conventions import FRONTS, SIDES

#: Of every table of the records.
METADATA = table_parts.METADATA

CLUB = Table(
    "club",
    METADATA,
    id_column(),
    Column("name", String(200), nullable=False, unique=True),
    length_within("name", 200),
    **NEVER_TWICE,
)

#: `group` is a word of SQL.
GYM_GROUP = Table(
    "gym_group",
    METADATA,
    id_column(),
    owned_by("club"),
    text_column("name"),
    Column("name_key", CodePoints, nullable=False),
    UniqueConstraint("club_id", "name_key"),
    length_within("name", 200),
    **NEVER_TWICE,
)

GYMNAST = Table(
    "gymnast",
    METADATA,
    id_column(),
    owned_by("club"),
    text_column("name"),
    Column("name_key", CodePoints, nullable=False),
    Column("card", Integer),
    Column("birth_date", Date),
    Column("may_measure", Boolean, nullable=False),
    Column("may_keep_pictures", Boolean, nullable=False),
    Column("may_show_to_squad", Boolean, nullable=False),
    Column("consent_until", Date),
    Column("archived_at", UtcDateTime),
    Column("version", Integer, nullable=False),
    Column("created_at", UtcDateTime, nullable=False),
    text_column("growth_reference", nullable=True, longest=20),
    Column("consent_said_on", Date),
    text_column("consent_said_by", nullable=True),
    text_column("consent_note", nullable=True, longest=2000),
    length_within("name", 200),
    rule("card", "card BETWEEN 0 AND 999"),
    rule("birth_date", "birth_date >= '1900-01-01'"),
    one_of("growth_reference", GROWTH_REFERENCES),
    Index(None, "club_id", "name_key", "id"),
    Index(
        "uq_gymnast_club_id_card",
        "club_id",
        "card",
        unique=True,
        sqlite_where=column("archived_at").is_(None),
        postgresql_where=column("archived_at").is_(None),
    ),
    **NEVER_TWICE,
)

GROUP_MEMBER = Table(
    "group_member",
    METADATA,
    Column("gym_group_id", RowId, ForeignKey("gym_group.id", ondelete="CASCADE"), primary_key=True),
    Column("gymnast_id", RowId, ForeignKey("gymnast.id", ondelete="CASCADE"), primary_key=True),
    Index(None, "gymnast_id"),
)

BODY_SIZE = Table(
    "body_size",
    METADATA,
    Column("gymnast_id", RowId, ForeignKey("gymnast.id", ondelete="CASCADE"), primary_key=True),
    Column("taken_on", Date, primary_key=True),
    Column("stature_cm", Float),
    Column("mass_kg", Float),
    Column("sitting_height_cm", Float),
    rule("stature_cm", "stature_cm BETWEEN 50 AND 230"),
    rule("mass_kg", "mass_kg BETWEEN 5 AND 200"),
    rule("sitting_height_cm", "sitting_height_cm BETWEEN 25 AND 130"),
    rule("sits_lower_than_she_stands", "sitting_height_cm < stature_cm"),
    rule("something", "coalesce(stature_cm, mass_kg, sitting_height_cm) IS NOT NULL"),
)

NOTE = Table(
    "note",
    METADATA,
    id_column(),
    owned_by("gymnast"),
    Column("noted_on", Date, nullable=False),
    text_column("kind", longest=20),
    text_column("flag", nullable=True, longest=60),
    Column("text", String(4000), nullable=False),
    text_column("author"),
    Column("closed_on", Date),
    one_of("kind", NOTE_KINDS),
    rule("flag", "(kind = 'flag') = (flag IS NOT NULL)"),
    rule("closed_on", "closed_on >= noted_on"),
    rule("text_length", "length(text) <= 4000"),
    length_within("author", 200),
    Index(None, "gymnast_id", "noted_on"),
    **NEVER_TWICE,
)

SCREEN = Table(
    "screen",
    METADATA,
    id_column(),
    owned_by("gymnast"),
    Column("screened_on", Date, nullable=False),
    Column("revision", Integer, nullable=False),
    UniqueConstraint("gymnast_id", "screened_on"),
    rule("screened_on", "screened_on >= '1900-01-01'"),
    **NEVER_TWICE,
)

PHOTO = Table(
    "photo",
    METADATA,
    id_column(),
    owned_by("club"),
    owned_by("screen", nullable=True),
    text_column("name", longest=255),
    text_column("sha256", longest=64),
    Column("size_bytes", RowId, nullable=False),
    text_column("content_key", nullable=True),
    text_column("test", nullable=True, longest=60),
    text_column("near_side", nullable=True, longest=10),
    text_column("front", nullable=True, longest=10),
    Column("person", Integer),
    text_column("state", longest=20),
    Column("reason", String(2000)),
    Column("worry", Float),
    Column("revision", Integer, nullable=False),
    Column("marks_version", Integer, nullable=False),
    text_column("checked_by", nullable=True),
    Column("received_at", UtcDateTime, nullable=False),
    Column("taken_on", Date),
    UniqueConstraint("club_id", "sha256"),
    length_within("name", 255),
    rule("sha256", "length(sha256) = 64"),
    rule("size_bytes", "size_bytes > 0"),
    one_of("near_side", SIDES),
    one_of("front", FRONTS),
    rule("person", "person >= 1"),
    one_of("state", PHOTO_STATES),
    rule("reason", "(state IN ('needs_look', 'refused')) = (reason IS NOT NULL)"),
    rule("worry", "(state IN ('needs_look', 'refused')) = (worry IS NOT NULL)"),
    Index(None, "screen_id"),
    Index(None, "club_id", "state"),
    Index(None, "content_key"),
    # The queue and the unowned are few among many photos: small indexes in the page's order.
    Index(
        "ix_photo_queue",
        "club_id",
        column("worry").desc(),
        "id",
        sqlite_where=column("worry").is_not(None),
        postgresql_where=column("worry").is_not(None),
    ),
    Index(
        "ix_photo_unfiled",
        "club_id",
        "id",
        sqlite_where=column("screen_id").is_(None),
        postgresql_where=column("screen_id").is_(None),
    ),
    **NEVER_TWICE,
)

MARKS = Table(
    "marks",
    METADATA,
    Column("photo_id", RowId, ForeignKey("photo.id", ondelete="CASCADE"), primary_key=True),
    Column("version", Integer, primary_key=True, autoincrement=False),
    Column("base_version", Integer, nullable=False),
    text_column("author"),
    Column("made_at", UtcDateTime, nullable=False),
    text_column("near_side", nullable=True, longest=10),
    text_column("front", nullable=True, longest=10),
    Column("landmarks", JsonText, nullable=False),
    Column("set_aside", Boolean, nullable=False),
    one_of("near_side", SIDES),
    one_of("front", FRONTS),
    length_within("author", 200),
    rule("version", "version >= 1 AND base_version >= 0 AND base_version < version"),
)

MEASUREMENT = Table(
    "measurement",
    METADATA,
    id_column(),
    owned_by("photo"),
    Column("photo_revision", Integer, nullable=False),
    Column("marks_version", Integer),
    Column("record", JsonText, nullable=False),
    text_column("model"),
    text_column("catalogue"),
    Column("measured_at", UtcDateTime, nullable=False),
    ForeignKeyConstraint(
        ["photo_id", "marks_version"], ["marks.photo_id", "marks.version"], ondelete="CASCADE"
    ),
    Index(None, "photo_id", "photo_revision", "id"),
    **NEVER_TWICE,
)

FINDINGS = Table(
    "findings",
    METADATA,
    id_column(),
    owned_by("screen"),
    Column("screen_revision", Integer, nullable=False),
    Column("record", JsonText, nullable=False),
    text_column("catalogue"),
    Column("models", JsonText, nullable=False),
    Column("judged_at", UtcDateTime, nullable=False),
    Index(None, "screen_id", "id"),
    **NEVER_TWICE,
)

HOLD = Table(
    "hold",
    METADATA,
    id_column(),
    owned_by("screen"),
    text_column("test", longest=60),
    Column("seconds", Float, nullable=False),
    Column("reached_cap", Boolean, nullable=False),
    text_column("author"),
    Column("entered_at", UtcDateTime, nullable=False),
    owned_by("video", nullable=True),
    Column("rel_sd", Float),
    length_within("author", 200),
    rule("seconds", "seconds > 0 AND seconds <= 3600"),
    Index(None, "screen_id"),
    Index(None, "video_id"),
    **NEVER_TWICE,
)

JOB = Table(
    "job",
    METADATA,
    id_column(),
    owned_by("club"),
    text_column("kind", longest=40),
    owned_by("photo", nullable=True),
    Column("payload", JsonText, nullable=False),
    text_column("state", longest=20),
    Column("attempts", Integer, nullable=False),
    text_column("worker", nullable=True),
    Column("lease_until", UtcDateTime),
    Column("error", String(2000)),
    Column("changed_at", UtcDateTime, nullable=False),
    owned_by("video", nullable=True),
    one_of("state", JOB_STATES),
    rule("lease", "(state = 'running') = (worker IS NOT NULL AND lease_until IS NOT NULL)"),
    rule("error", "(state = 'failed') = (error IS NOT NULL)"),
    Index(None, "state", "id"),
    Index(None, "photo_id"),
    Index(
        "uq_job_kind_photo_id",
        "kind",
        "photo_id",
        unique=True,
        sqlite_where=column("state") == "waiting",
        postgresql_where=column("state") == "waiting",
    ),
    Index(None, "video_id"),
    Index(
        "uq_job_kind_video_id",
        "kind",
        "video_id",
        unique=True,
        sqlite_where=column("state") == "waiting",
        postgresql_where=column("state") == "waiting",
    ),
    **NEVER_TWICE,
)

SENT_FORM = Table(
    "sent_form",
    METADATA,
    Column("token", String(100), primary_key=True),
    Column("sent_at", UtcDateTime, nullable=False),
    length_within("token", 100),
)
