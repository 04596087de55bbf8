"""What pages ask of the records, and what they get."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Generic, Literal, TypeVar

from chordline.application.club.records import (
    BodySize,
    FindingsRecord,
    Group,
    GymnastRecord,
    HoldRecord,
    MarksRecord,
    MeasurementRecord,
    NoteRecord,
    PhotoRecord,
    ScreenRecord,
)

RowT = TypeVar("RowT")

SortKey = Literal["name", "card", "birth_date", "last_screened"]


@dataclass(frozen=True)
class Page(Generic[RowT]):
    """One page of a list.

    Attributes
    ----------
    rows : sequence
    next : str or None
        Hand it back as `after` for the following page; None at the end.
    total : int
        Of the whole list.
    """

    rows: Sequence[RowT]
    next: str | None
    total: int


@dataclass(frozen=True)
class GymnastQuery:
    """Which gymnasts, in which order.

    Attributes
    ----------
    club_id : int
    text : str
        Her card number, or the beginnings of words of her name; accents and case do not matter.
    group_id : int or None
    archived : bool
        Those put away instead of those who train.
    sort : {'name', 'card', 'birth_date', 'last_screened'}
        Ascending: those without a card or birth date last, those never screened first.
    descending : bool
    after : str or None
        `Page.next` of the page before.
    limit : int
    """

    club_id: int
    text: str = ""
    group_id: int | None = None
    archived: bool = False
    sort: SortKey = "name"
    descending: bool = False
    after: str | None = None
    limit: int = 50


@dataclass(frozen=True)
class GymnastRow:
    """A line of the gymnasts' table."""

    gymnast: GymnastRecord
    last_screened_on: date | None


@dataclass(frozen=True)
class SquadRow:
    """A line of the squad table: with her latest findings, and photos that need a look."""

    gymnast: GymnastRecord
    last_screened_on: date | None
    findings: FindingsRecord | None
    needs_look: int


@dataclass(frozen=True)
class QueueRow:
    """A photo that needs a look, and whose it is as far as known."""

    photo: PhotoRecord
    gymnast_id: int | None
    gymnast: str | None
    screened_on: date | None


@dataclass(frozen=True)
class QueuePlace:
    """Where a photo stands among those that need a look.

    Attributes
    ----------
    previous, next : int or None
        Ids of the photos beside it; `next` is the first of the queue where the photo is not in it
        (any more).
    position : int or None
        1 for the first; None where the photo is not in the queue.
    total : int
    """

    previous: int | None
    next: int | None
    position: int | None
    total: int


@dataclass(frozen=True)
class QueueCounts:
    """How many photos wait for measuring, need a look, are refused, and have no owner."""

    waiting: int
    needs_look: int
    refused: int
    unfiled: int


@dataclass(frozen=True)
class PhotoView:
    """A photo with its standing marks and the measurement that counts."""

    photo: PhotoRecord
    marks: MarksRecord | None
    measurement: MeasurementRecord | None


@dataclass(frozen=True)
class ScreenView:
    """A screen with everything in it.

    `key_photos` says which photo the best moment of each of its videos became.
    """

    screen: ScreenRecord
    photos: tuple[PhotoView, ...]
    holds: tuple[HoldRecord, ...]
    findings: FindingsRecord | None
    key_photos: Mapping[int, int] = field(default_factory=dict)


@dataclass(frozen=True)
class GymnastView:
    """A gymnast with her groups, sizes, notes and screens, the latest screen first."""

    gymnast: GymnastRecord
    groups: tuple[Group, ...]
    sizes: tuple[BodySize, ...]
    notes: tuple[NoteRecord, ...]
    screens: tuple[ScreenView, ...]
