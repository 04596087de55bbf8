"""The tables of the club's records. Migrations bring a database to this state."""

from typing import Any

from sqlalchemy import (
    Boolean,
    CheckConstraint,
    Column,
    Date,
    Float,
    ForeignKey,
    ForeignKeyConstraint,
    Index,
    Integer,
    MetaData,
    String,
    Table,
    UniqueConstraint,
    column,
)

from chordline.adapters.db.column_types import CodePoints, JsonText, RowId, UtcDateTime
from chordline.application.club.records import JOB_STATES, NOTE_KINDS, PHOTO_STATES
from chordline.conventions import FRONTS, SIDES

METADATA = MetaData(
    naming_convention={
        "pk": "pk_%(table_name)s",
        "fk": "fk_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "ck": "ck_%(table_name)s_%(constraint_name)s",
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    }
)

#: SQLite gives the number of an erased row to the next one unless told not to.
_NEVER_TWICE: dict[str, Any] = {"sqlite_autoincrement": True}


def _id() -> Column[int]:
    return Column("id", RowId, primary_key=True)


def _of(table: str, *, nullable: bool = False) -> Column[int]:
    """Return a column that belongs to a row of another table and goes with it."""
    owner = ForeignKey(f"{table}.id", ondelete="CASCADE")
    return Column(f"{table}_id", RowId, owner, nullable=nullable)


def _text(name: str, *, nullable: bool = False, longest: int = 200) -> Column[str]:
    return Column(name, String(longest), nullable=nullable)


def _one_of(name: str, words: tuple[str, ...]) -> CheckConstraint:
    return CheckConstraint(f"{name} IN ({', '.join(map(repr, words))})", name)


def _longer(name: str, longest: int) -> CheckConstraint:
    # SQLite does not look at the length of a VARCHAR.
    return CheckConstraint(f"length({name}) BETWEEN 1 AND {longest}", f"{name}_length")


def _rule(name: str, sql: str) -> CheckConstraint:
    return CheckConstraint(sql, name)


CLUB = Table(
    "club",
    METADATA,
    _id(),
    Column("name", String(200), nullable=False, unique=True),
    _longer("name", 200),
    **_NEVER_TWICE,
)

#: `group` is a word of SQL.
GYM_GROUP = Table(
    "gym_group",
    METADATA,
    _id(),
    _of("club"),
    _text("name"),
    Column("name_key", CodePoints, nullable=False),
    UniqueConstraint("club_id", "name_key"),
    _longer("name", 200),
    **_NEVER_TWICE,
)

GYMNAST = Table(
    "gymnast",
    METADATA,
    _id(),
    _of("club"),
    _text("name"),
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
    _longer("name", 200),
    _rule("card", "card BETWEEN 0 AND 999"),
    _rule("birth_date", "birth_date >= '1900-01-01'"),
    Index(None, "club_id", "name_key", "id"),
    Index(
        "uq_gymnast_club_id_card",
        "club_id",
        "card",
        unique=True,
        sqlite_where=column("archived_at").is_(None),
        postgresql_where=column("archived_at").is_(None),
    ),
    **_NEVER_TWICE,
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
    _rule("stature_cm", "stature_cm BETWEEN 50 AND 230"),
    _rule("mass_kg", "mass_kg BETWEEN 5 AND 200"),
    _rule("sitting_height_cm", "sitting_height_cm BETWEEN 25 AND 130"),
    _rule("sits_lower_than_she_stands", "sitting_height_cm < stature_cm"),
    _rule("something", "coalesce(stature_cm, mass_kg, sitting_height_cm) IS NOT NULL"),
)

NOTE = Table(
    "note",
    METADATA,
    _id(),
    _of("gymnast"),
    Column("noted_on", Date, nullable=False),
    _text("kind", longest=20),
    _text("flag", nullable=True, longest=60),
    Column("text", String(4000), nullable=False),
    _text("author"),
    Column("closed_on", Date),
    _one_of("kind", NOTE_KINDS),
    _rule("flag", "(kind = 'flag') = (flag IS NOT NULL)"),
    _rule("closed_on", "closed_on >= noted_on"),
    _rule("text_length", "length(text) <= 4000"),
    _longer("author", 200),
    Index(None, "gymnast_id", "noted_on"),
    **_NEVER_TWICE,
)

SCREEN = Table(
    "screen",
    METADATA,
    _id(),
    _of("gymnast"),
    Column("screened_on", Date, nullable=False),
    Column("revision", Integer, nullable=False),
    UniqueConstraint("gymnast_id", "screened_on"),
    _rule("screened_on", "screened_on >= '1900-01-01'"),
    **_NEVER_TWICE,
)

PHOTO = Table(
    "photo",
    METADATA,
    _id(),
    _of("club"),
    _of("screen", nullable=True),
    _text("name", longest=255),
    _text("sha256", longest=64),
    Column("size_bytes", RowId, nullable=False),
    _text("content_key", nullable=True),
    _text("test", nullable=True, longest=60),
    _text("near_side", nullable=True, longest=10),
    _text("front", nullable=True, longest=10),
    Column("person", Integer),
    _text("state", longest=20),
    Column("reason", String(2000)),
    Column("worry", Float),
    Column("revision", Integer, nullable=False),
    Column("marks_version", Integer, nullable=False),
    _text("checked_by", nullable=True),
    Column("received_at", UtcDateTime, nullable=False),
    Column("taken_on", Date),
    UniqueConstraint("club_id", "sha256"),
    _longer("name", 255),
    _rule("sha256", "length(sha256) = 64"),
    _rule("size_bytes", "size_bytes > 0"),
    _one_of("near_side", SIDES),
    _one_of("front", FRONTS),
    _rule("person", "person >= 1"),
    _one_of("state", PHOTO_STATES),
    _rule("reason", "(state IN ('needs_look', 'refused')) = (reason IS NOT NULL)"),
    _rule("worry", "(state IN ('needs_look', 'refused')) = (worry IS NOT NULL)"),
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
    **_NEVER_TWICE,
)

MARKS = Table(
    "marks",
    METADATA,
    Column("photo_id", RowId, ForeignKey("photo.id", ondelete="CASCADE"), primary_key=True),
    Column("version", Integer, primary_key=True, autoincrement=False),
    Column("base_version", Integer, nullable=False),
    _text("author"),
    Column("made_at", UtcDateTime, nullable=False),
    _text("near_side", nullable=True, longest=10),
    _text("front", nullable=True, longest=10),
    Column("landmarks", JsonText, nullable=False),
    Column("set_aside", Boolean, nullable=False),
    _one_of("near_side", SIDES),
    _one_of("front", FRONTS),
    _longer("author", 200),
    _rule("version", "version >= 1 AND base_version >= 0 AND base_version < version"),
)

MEASUREMENT = Table(
    "measurement",
    METADATA,
    _id(),
    _of("photo"),
    Column("photo_revision", Integer, nullable=False),
    Column("marks_version", Integer),
    Column("record", JsonText, nullable=False),
    _text("model"),
    _text("catalogue"),
    Column("measured_at", UtcDateTime, nullable=False),
    ForeignKeyConstraint(
        ["photo_id", "marks_version"], ["marks.photo_id", "marks.version"], ondelete="CASCADE"
    ),
    Index(None, "photo_id", "photo_revision", "id"),
    **_NEVER_TWICE,
)

FINDINGS = Table(
    "findings",
    METADATA,
    _id(),
    _of("screen"),
    Column("screen_revision", Integer, nullable=False),
    Column("record", JsonText, nullable=False),
    _text("catalogue"),
    Column("models", JsonText, nullable=False),
    Column("judged_at", UtcDateTime, nullable=False),
    Index(None, "screen_id", "id"),
    **_NEVER_TWICE,
)

HOLD = Table(
    "hold",
    METADATA,
    _id(),
    _of("screen"),
    _text("test", longest=60),
    Column("seconds", Float, nullable=False),
    Column("reached_cap", Boolean, nullable=False),
    _text("author"),
    Column("entered_at", UtcDateTime, nullable=False),
    _longer("author", 200),
    _rule("seconds", "seconds > 0 AND seconds <= 3600"),
    Index(None, "screen_id"),
    **_NEVER_TWICE,
)

JOB = Table(
    "job",
    METADATA,
    _id(),
    _of("club"),
    _text("kind", longest=40),
    _of("photo", nullable=True),
    Column("payload", JsonText, nullable=False),
    _text("state", longest=20),
    Column("attempts", Integer, nullable=False),
    _text("worker", nullable=True),
    Column("lease_until", UtcDateTime),
    Column("error", String(2000)),
    Column("changed_at", UtcDateTime, nullable=False),
    _one_of("state", JOB_STATES),
    _rule("lease", "(state = 'running') = (worker IS NOT NULL AND lease_until IS NOT NULL)"),
    _rule("error", "(state = 'failed') = (error IS NOT NULL)"),
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
    **_NEVER_TWICE,
)

SENT_FORM = Table(
    "sent_form",
    METADATA,
    Column("token", String(100), primary_key=True),
    Column("sent_at", UtcDateTime, nullable=False),
    _longer("token", 100),
)
