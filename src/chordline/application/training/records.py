"""What the records keep of a group's training: frozen, without a database behind them."""

from dataclasses import dataclass
from datetime import date, datetime, time
from typing import Final, Literal, get_args

from chordline.application.club.records import Json
from chordline.errors import RefusedInputError

SessionState = Literal["planned", "running", "ended"]
SESSION_STATES: Final[tuple[SessionState, ...]] = get_args(SessionState)


@dataclass(frozen=True)
class StationRecord:
    """A group's place in the gym.

    Attributes
    ----------
    name : str
    places : int
        How many work there at once.
    equipment : tuple of str
        Keys of the training catalogue's equipment.
    """

    name: str
    places: int
    equipment: tuple[str, ...] = ()


@dataclass(frozen=True)
class GroupTraining:
    """How a group trains.

    Attributes
    ----------
    group_id : int
    weekdays : tuple of int
        0 = Monday; in order.
    starts_at : time or None
    minutes : int [min]
        Gym time of a session that this work gets, warm-up included.
    coaches : int
        Who can spot.
    stations : tuple of StationRecord
        In the order in which they stand in the gym.
    version : int
        Counts the changes, so that two forms do not overwrite each other; 0 = never said.
    """

    group_id: int
    weekdays: tuple[int, ...]
    starts_at: time | None
    minutes: int
    coaches: int
    stations: tuple[StationRecord, ...]
    version: int = 0


@dataclass(frozen=True)
class PlanRecord:
    """A plan of a group.

    Attributes
    ----------
    id, group_id : int
    first_day : date
        Of the days that it plans; an earlier plan holds until the day before.
    record : mapping
        `chordline.plan/1`; gymnasts are named by id alone, so that erasing one leaves no name.
    made_at : datetime
    author : str
    """

    id: int
    group_id: int
    first_day: date
    record: Json
    made_at: datetime
    author: str


@dataclass(frozen=True)
class SessionRecord:
    """One evening of a group as it was, or is.

    Attributes
    ----------
    id, group_id : int
    held_on : date
    plan_id : int or None
        The plan it was taken from.
    record : mapping
        One element of `sessions` of `chordline.plan/1`: tonight's rotation, changed where the
        coach changed it.
    state : {'planned', 'running', 'ended'}
    version : int
    """

    id: int
    group_id: int
    held_on: date
    plan_id: int | None
    record: Json
    state: SessionState
    version: int


@dataclass(frozen=True)
class WorkRecord:
    """What a gymnast did of an exercise in a session.

    Attributes
    ----------
    session_id, gymnast_id : int
    held_on : date
    exercise : str
        Key of the training catalogue; stays when the catalogue has it no more.
    share : float
        Of the turn's dose: 0 = not done, 1 = all of it.
    minutes : float [min]
        Of the turn, as the catalogue had it then.
    author : str
    """

    session_id: int
    gymnast_id: int
    held_on: date
    exercise: str
    share: float
    minutes: float
    author: str


@dataclass(frozen=True)
class SkillRecord:
    """A rung that a gymnast has.

    `rung` is a key of the training catalogue; it stays when the catalogue has it no more.
    """

    gymnast_id: int
    rung: str
    reached_on: date
    author: str


class StaleTrainingError(RefusedInputError):
    """Somebody else changed how a group trains, or its session, meanwhile.

    Attributes
    ----------
    current : GroupTraining or SessionRecord
        As it is now.
    """

    def __init__(self, current: GroupTraining | SessionRecord) -> None:
        what = "this session" if isinstance(current, SessionRecord) else "how this group trains"
        super().__init__(
            f"somebody changed {what} meanwhile; look at it and enter your change again"
        )
        self.current = current
