"""The tables of videos and of what was read off them."""

from sqlalchemy import (
    Boolean,
    Column,
    Date,
    Float,
    ForeignKey,
    Index,
    Integer,
    LargeBinary,
    String,
    Table,
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
from chordline.application.club.video_records import VIDEO_STATES
from chordline.conventions import FRONTS, SIDES

VIDEO = Table(
    "video",
    METADATA,
    id_column(),
    owned_by("club"),
    owned_by("screen", nullable=True),
    Column("key_photo_id", RowId, ForeignKey("photo.id", ondelete="SET NULL")),
    text_column("name", longest=255),
    text_column("sha256", longest=64),
    Column("size_bytes", RowId, nullable=False),
    text_column("content_key", nullable=True),
    Column("keep_file", Boolean, nullable=False),
    text_column("test", nullable=True, longest=60),
    text_column("near_side", nullable=True, longest=10),
    text_column("front", nullable=True, longest=10),
    Column("person", Integer),
    Column("from_s", Float),
    Column("to_s", Float),
    Column("taken_on", Date),
    Column("duration_s", Float),
    Column("width_px", Integer, nullable=False),
    Column("height_px", Integer, nullable=False),
    Column("working_width_px", Integer, nullable=False),
    Column("rate_hz", Float, nullable=False),
    text_column("state", longest=20),
    Column("reason", String(2000)),
    Column("revision", Integer, nullable=False),
    Column("received_at", UtcDateTime, nullable=False),
    UniqueConstraint("club_id", "sha256"),
    length_within("name", 255),
    rule("sha256", "length(sha256) = 64"),
    rule("size_bytes", "size_bytes > 0"),
    one_of("near_side", SIDES),
    one_of("front", FRONTS),
    rule("person", "person >= 1"),
    rule("from_s", "from_s >= 0"),
    rule("to_s", "to_s > coalesce(from_s, 0)"),
    one_of("state", VIDEO_STATES),
    rule("reason", "state NOT IN ('needs_look', 'refused') OR reason IS NOT NULL"),
    Index(None, "screen_id"),
    Index(None, "club_id", "state"),
    Index(None, "content_key"),
    Index(None, "key_photo_id"),
    **NEVER_TWICE,
)

#: One a video: measured again, the earlier one is replaced.
VIDEO_MEASUREMENT = Table(
    "video_measurement",
    METADATA,
    Column(
        "video_id",
        RowId,
        ForeignKey("video.id", ondelete="CASCADE"),
        primary_key=True,
        autoincrement=False,
    ),
    Column("revision", Integer, nullable=False),
    Column("record", JsonText, nullable=False),
    text_column("model"),
    text_column("catalogue"),
    Column("measured_at", UtcDateTime, nullable=False),
)

#: Her landmarks piece by piece, as compressed arrays; of one way of following a video at a time.
VIDEO_TRACK = Table(
    "video_track",
    METADATA,
    Column(
        "video_id",
        RowId,
        ForeignKey("video.id", ondelete="CASCADE"),
        primary_key=True,
        autoincrement=False,
    ),
    Column("number", Integer, primary_key=True, autoincrement=False),
    text_column("key", longest=64),
    Column("until_s", Float, nullable=False),
    Column("piece", LargeBinary, nullable=False),
    rule("number", "number >= 0"),
)
