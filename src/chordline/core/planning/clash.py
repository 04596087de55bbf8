"""Why a squad's problem cannot be solved: what is missing, or what clashes with what."""

from dataclasses import dataclass
from typing import ClassVar, Literal

from chordline.core.planning.problem import Problem
from chordline.errors import RefusedInputError

#: Names of what can clash; `Clash` says which of its fields each one has.
ClashKind = Literal[
    "pin",
    "exclusion",
    "age",
    "level",
    "load",
    "need",
    "absent",
    "equipment",
    "round_min",
    "rounds",
    "places",
    "coaches",
    "order",
    "weekly_minutes",
    "hard_days",
    "hard_week",
]


@dataclass(frozen=True, order=True)
class Clash:
    """One of the things that cannot be had together.

    Attributes
    ----------
    kind : ClashKind
    wish : int or None
        Of a pin or an exclusion: which one.
    exercise : str or None
        Of 'age', 'level', 'load', 'need', 'equipment', 'round_min'.
    gymnast : int or None
        Of 'age', 'level', 'load', 'need', 'absent', 'order', 'weekly_minutes', 'hard_days' and
        'hard_week'.
    session : int or None
        Of 'absent', 'order', 'rounds', 'places', 'coaches'; the first of several that are alike.
    subject : str
        The load of 'load', the capacity of 'need', the muscle group of the last three.
    """

    kind: ClashKind
    wish: int | None = None
    exercise: str | None = None
    gymnast: int | None = None
    session: int | None = None
    subject: str = ""


class ClashError(RefusedInputError):
    """What was asked cannot be had together.

    Attributes
    ----------
    clashes : tuple of Clash
        The smallest set: without any one of them, the others can be had.
    """

    def __init__(self, clashes: tuple[Clash, ...]) -> None:
        super().__init__(
            "what was asked of the plan cannot be had together: "
            + ", ".join(one.kind.replace("_", " ") for one in clashes)
            + "; take back one of them"
        )
        self.clashes = clashes


class EmptyProblemError(RefusedInputError):
    """There is nothing to plan.

    Attributes
    ----------
    missing : str
        'gymnasts', 'sessions', 'rounds', 'stations' or 'exercises'.
    """

    _SENTENCES: ClassVar = {
        "gymnasts": "nobody is in this group: add gymnasts, then plan",
        "sessions": "the plan has no session: choose training days and at least one week",
        "rounds": "no session is long enough for one round of work after the warm-up: give it "
        "more minutes",
        "stations": "the group has no station with a place: add at least one",
        "exercises": "no exercise is left that anybody here may do and that works on what is "
        "missing: look at reported signs, exclusions, levels and the stations' equipment",
    }

    def __init__(self, missing: str) -> None:
        super().__init__(self._SENTENCES[missing])
        self.missing = missing


def refuse_empty(problem: Problem) -> None:
    """Raise `EmptyProblemError` where nothing can be planned whatever anybody wishes."""
    if not problem.trainees:
        raise EmptyProblemError("gymnasts")
    if not problem.sessions:
        raise EmptyProblemError("sessions")
    if all(one.rounds < 1 for one in problem.sessions):
        raise EmptyProblemError("rounds")
    if all(one.places < 1 for one in problem.stations):
        raise EmptyProblemError("stations")


def refuse_unknown(problem: Problem) -> None:
    """Raise `RefusedInputError` where a pin speaks of what is not there."""
    exercises = {one.id for one in problem.exercises}
    gymnasts = {one.id for one in problem.trainees}
    for pin in problem.pins:
        if pin.exercise not in exercises:
            raise RefusedInputError(f"no exercise is called '{pin.exercise}': take back its pin")
        if pin.gymnast is not None and pin.gymnast not in gymnasts:
            raise RefusedInputError(
                f"gymnast {pin.gymnast} is not in this group (any more): take back the pin of "
                f"'{pin.exercise}'"
            )
        if pin.session is not None and not 0 <= pin.session < len(problem.sessions):
            raise RefusedInputError(
                f"the plan has no session {pin.session + 1}: take back the pin of '{pin.exercise}'"
            )
