"""A study of marks and the club's own errors as they are read from the records."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from chordline.application.club.records import Json

#: Each coach marks a photo at most so often.
TURNS: Final = (1, 2)


@dataclass(frozen=True)
class Reading:
    """One measure as one marking read it.

    Attributes
    ----------
    value : float
    sd : float
        What our default error of a mark predicts that another marking changes, in `unit`.
    definition_sd : float
        What our default of where exactly a joint is predicts, in `unit`.
    unit : str
    """

    value: float
    sd: float
    definition_sd: float
    unit: str


@dataclass(frozen=True)
class Study:
    """A study of marks.

    Attributes
    ----------
    id, club_id : int
    seed : int
        Of the order in which each coach sees the photos.
    twice : bool
        Whether each coach marks every photo twice.
    photos : tuple of int
        Photos that were picked and are still there, in the order of picking.
    author : str
        Who began it.
    begun_at : datetime
    """

    id: int
    club_id: int
    seed: int
    twice: bool
    photos: tuple[int, ...]
    author: str
    begun_at: datetime


@dataclass(frozen=True)
class NewTask:
    """A photo that a coach is to mark, before it is kept.

    Attributes
    ----------
    photo_id : int
    turn : {1, 2}
    """

    photo_id: int
    turn: int


@dataclass(frozen=True)
class Task:
    """One photo to be marked by one coach.

    Attributes
    ----------
    id, study_id, photo_id : int
    coach : str
    place : int
        In the coach's order, from 1.
    turn : {1, 2}
        The first or the second time that this coach marks this photo.
    marks : mapping or None
        As `chordline` marks files hold them; None until it is marked.
    readings : mapping of measure to Reading
    done_at : datetime or None
    """

    id: int
    study_id: int
    photo_id: int
    coach: str
    place: int
    turn: int
    marks: Json | None
    readings: Mapping[str, Reading]
    done_at: datetime | None


@dataclass(frozen=True)
class NoiseRecord:
    """Errors that a club found for itself.

    Attributes
    ----------
    id, club_id : int
    record : mapping
        `chordline.noise/1`.
    in_use : bool
        At most one of a club is.
    author : str
    made_at : datetime
    """

    id: int
    club_id: int
    record: Json
    in_use: bool
    author: str
    made_at: datetime
