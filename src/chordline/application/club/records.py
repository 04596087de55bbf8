"""The club's records as they are read: frozen, without a database behind them.

Ids are given by the records and never used twice, also after erasing. Days are dates; moments are
aware and in UTC.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, Final, Literal, get_args

from chordline.application.club.growth_reference import GrowthReference
from chordline.application.marks import HandMarks
from chordline.conventions import Front, Side
from chordline.errors import RefusedInputError

Json = Mapping[str, Any]

PhotoState = Literal["waiting", "measured", "needs_look", "refused"]
PHOTO_STATES: Final[tuple[PhotoState, ...]] = get_args(PhotoState)
NoteKind = Literal["remark", "pain", "flag"]
NOTE_KINDS: Final[tuple[NoteKind, ...]] = get_args(NoteKind)
JobState = Literal["waiting", "running", "done", "failed"]
JOB_STATES: Final[tuple[JobState, ...]] = get_args(JobState)


@dataclass(frozen=True)
class Club:
    """A club."""

    id: int
    name: str


@dataclass(frozen=True)
class Group:
    """A group of a club, with the number of its gymnasts who are not archived."""

    id: int
    club_id: int
    name: str
    size: int = 0


@dataclass(frozen=True)
class Consent:
    """What a family allowed; nothing until it says so.

    Attributes
    ----------
    measure, keep_pictures, show_to_squad : bool
    until : date or None
        Last day on which it holds; None = until taken back.
    said_on : date or None
        The day on which the family said so; all three False without it = nobody asked yet.
    said_by : str
        Who said it, e.g. her mother.
    note : str
        How: on paper, by mail, and where that is kept.
    """

    measure: bool = False
    keep_pictures: bool = False
    show_to_squad: bool = False
    until: date | None = None
    said_on: date | None = None
    said_by: str = ""
    note: str = ""

    def holds_on(self, day: date) -> bool:
        """Return whether it has not run out on a day."""
        return self.until is None or day <= self.until


@dataclass(frozen=True)
class NewGymnast:
    """A gymnast to be taken in."""

    name: str
    card: int | None = None
    birth_date: date | None = None
    consent: Consent = Consent()
    growth_reference: GrowthReference | None = None


@dataclass(frozen=True)
class GymnastRecord:
    """A gymnast.

    Attributes
    ----------
    id, club_id : int
    name : str
    card : int or None
        Number of her printed card; nobody else in the club has it while she is not archived.
    birth_date : date or None
    consent : Consent
    archived_at : datetime or None
        Since when she is put away; her records stay.
    version : int
        Counts the changes to this record, so that two forms do not overwrite each other.
    growth_reference : {'girls', 'boys'} or None
        Which table her growth is compared with; None = not said.
    """

    id: int
    club_id: int
    name: str
    card: int | None
    birth_date: date | None
    consent: Consent
    archived_at: datetime | None
    version: int
    growth_reference: GrowthReference | None = None


@dataclass(frozen=True)
class BodySize:
    """What was measured of her body on a day; None = not measured."""

    taken_on: date
    stature_cm: float | None = None
    mass_kg: float | None = None
    sitting_height_cm: float | None = None


@dataclass(frozen=True)
class NoteRecord:
    """What she or her family reported, or a coach's remark.

    Attributes
    ----------
    id, gymnast_id : int
    noted_on : date
    kind : {'remark', 'pain', 'flag'}
    flag : str or None
        A key of the catalogue's referrals; of flags only.
    text, author : str
    closed_on : date or None
        Since when it holds no more; None = open.
    """

    id: int
    gymnast_id: int
    noted_on: date
    kind: NoteKind
    flag: str | None
    text: str
    author: str
    closed_on: date | None


@dataclass(frozen=True)
class ScreenRecord:
    """The tests of one gymnast on one day.

    `revision` counts what changes its findings: photos, measurements, holds.
    """

    id: int
    gymnast_id: int
    screened_on: date
    revision: int


@dataclass(frozen=True)
class NewPhoto:
    """A photo to be filed; its picture stands in the photo store already.

    Attributes
    ----------
    name : str
        The file's own name, to show; never used to reach a file.
    sha256 : str
        Of the bytes that came in: the same photo is known again by it.
    size_bytes : int
    content_key : str or None
        Where the photo store has the picture; None where it may not be kept.
    screen_id : int or None
        None while nobody knows whose photo it is.
    test : str or None
    near_side, front, person : optional
        What the coach said.
    taken_on : date or None
        The day of the screen it belongs to, where the coach said it.
    """

    name: str
    sha256: str
    size_bytes: int
    content_key: str | None
    screen_id: int | None = None
    test: str | None = None
    near_side: Side | None = None
    front: Front | None = None
    person: int | None = None
    taken_on: date | None = None


@dataclass(frozen=True)
class PhotoRecord:
    """A photo.

    Attributes
    ----------
    name, sha256, size_bytes, content_key, screen_id, test, near_side, front, person, taken_on
        As in `NewPhoto`.
    state : {'waiting', 'measured', 'needs_look', 'refused'}
    reason : str or None
        Why it needs a look or is refused.
    worry : float or None
        How much speaks against it; the queue starts with the largest. None = nothing to look at.
    revision : int
        Counts what makes a measurement out of date: owner, test, sides said, marks.
    marks_version : int
        The standing hand marks; 0 = none.
    checked_by : str or None
        Who looked at it as it is now and found it right.
    received_at : datetime
    """

    id: int
    club_id: int
    screen_id: int | None
    name: str
    sha256: str
    size_bytes: int
    content_key: str | None
    test: str | None
    near_side: Side | None
    front: Front | None
    person: int | None
    taken_on: date | None
    state: PhotoState
    reason: str | None
    worry: float | None
    revision: int
    marks_version: int
    checked_by: str | None
    received_at: datetime


@dataclass(frozen=True)
class FiledPhoto:
    """What came of filing: the photo, and whether it was there already."""

    photo: PhotoRecord
    already_there: bool


@dataclass(frozen=True)
class MarksRecord:
    """One version of a photo's hand marks.

    Attributes
    ----------
    photo_id, version : int
        Versions count up within a photo, refused ones included.
    base_version : int
        The version that its author saw when she began; 0 = none.
    author : str
    made_at : datetime
    marks : HandMarks
    set_aside : bool
        Whether it was refused because somebody else had been quicker; kept, never measured.
    """

    photo_id: int
    version: int
    base_version: int
    author: str
    made_at: datetime
    marks: HandMarks
    set_aside: bool


@dataclass(frozen=True)
class MeasurementRecord:
    """One measurement of a photo.

    Attributes
    ----------
    id, photo_id : int
    photo_revision : int
        The photo as it was measured; the measurement counts while the photo is still so.
    marks_version : int or None
        The hand marks it was made from; None = automatic landmarks.
    record : mapping
        `chordline.measurement/1`.
    model, catalogue : str
        What found the landmarks; version of the catalogue.
    measured_at : datetime
    """

    id: int
    photo_id: int
    photo_revision: int
    marks_version: int | None
    record: Json
    model: str
    catalogue: str
    measured_at: datetime


@dataclass(frozen=True)
class FindingsRecord:
    """What was found from a screen.

    `record` is `chordline.findings/1`. `up_to_date` is False once a photo, measurement or hold of
    the screen has changed since.
    """

    id: int
    screen_id: int
    screened_on: date
    record: Json
    catalogue: str
    models: tuple[str, ...]
    judged_at: datetime
    up_to_date: bool


@dataclass(frozen=True)
class HoldRecord:
    """Seconds that she held a test's shape.

    Attributes
    ----------
    reached_cap : bool
        She was stopped, or the video ended; she did not break.
    video_id : int or None
        The video that shows it; None = taken with a watch.
    rel_sd : float or None
        Relative error of the seconds; None = that of a watch.
    """

    id: int
    screen_id: int
    test: str
    seconds: float
    reached_cap: bool
    author: str
    entered_at: datetime
    video_id: int | None = None
    rel_sd: float | None = None


@dataclass(frozen=True)
class JobRecord:
    """Work that goes on after a restart.

    Attributes
    ----------
    kind : str
        'measure', 'measure_video', 'judge', 'import', …
    photo_id, video_id : int or None
    payload : mapping
    state : {'waiting', 'running', 'done', 'failed'}
    attempts : int
        How often it was begun.
    worker : str or None
    lease_until : datetime or None
        While running: when another worker may take it over.
    error : str or None
    """

    id: int
    club_id: int
    kind: str
    photo_id: int | None
    payload: Json
    state: JobState
    attempts: int
    worker: str | None
    lease_until: datetime | None
    error: str | None
    video_id: int | None = None


class StaleMarksError(RefusedInputError):
    """Somebody else marked the photo meanwhile; the refused marks are kept in its history.

    Attributes
    ----------
    current : MarksRecord
        The standing marks.
    """

    def __init__(self, current: MarksRecord) -> None:
        super().__init__(
            f"{current.author} marked this photo meanwhile; both versions are kept, "
            "look at the new one and choose"
        )
        self.current = current


class StaleGymnastError(RefusedInputError):
    """Somebody else changed the gymnast's record meanwhile.

    Attributes
    ----------
    current : GymnastRecord
    """

    def __init__(self, current: GymnastRecord) -> None:
        super().__init__(
            f"somebody changed the record of {current.name} meanwhile; "
            "look at it and enter your change again"
        )
        self.current = current


def worry_of(record: Json) -> float | None:
    """Return how much speaks against a measurement: one per reason; None where it is accepted.

    Parameters
    ----------
    record : mapping
        `chordline.measurement/1`.
    """
    trust = record["trust"]
    return None if trust["accepted"] else float(max(len(trust["reasons"]), 1))


#: A photo that could not be measured at all stands before every doubtful measurement.
REFUSED_WORRY: Final = 100.0
