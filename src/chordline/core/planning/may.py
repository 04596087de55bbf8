"""What a gymnast may do: age, level, reported signs, what an exercise asks of her, the coach."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from chordline.core.planning.problem import Exclusion, Exercise, Problem, Station, Trainee

BarKind = Literal["age", "level", "load", "need"]


@dataclass(frozen=True)
class Bar:
    """Why an exercise is not for a gymnast.

    Attributes
    ----------
    kind : {'age', 'level', 'load', 'need'}
    subject : str
        The load, or the capacity, that bars it; empty for age and level.
    """

    kind: BarKind
    subject: str = ""


def find_bars(trainee: Trainee, exercise: Exercise) -> Iterator[Bar]:
    """Yield everything that bars an exercise for a gymnast.

    Notes
    -----
    A shortfall is within an exercise's limit when its mean and one sd are (five times of six it
    then is, an assumption): what leans on range or strength is given to who has it, not to who
    might. A capacity of which nothing is known is not within any limit. What the plan itself is
    expected to give unlocks nothing: that takes a new screen.
    """
    if trainee.age_y is None:
        if exercise.from_age_y > 0.0:
            yield Bar("age")
    elif trainee.age_y < exercise.from_age_y:
        yield Bar("age")
    if trainee.level < exercise.level:
        yield Bar("level")
    for load in sorted(exercise.loads & trainee.barred):
        yield Bar("load", load)
    for capacity, most in exercise.needs.items():
        need = trainee.needs.get(capacity)
        if need is None or need.shortfall.value + need.shortfall.sd > most:
            yield Bar("need", capacity)


def may_do(trainee: Trainee, exercise: Exercise) -> bool:
    """Return whether nothing bars an exercise for a gymnast."""
    return next(find_bars(trainee, exercise), None) is None


def is_excluded(exclusion: Exclusion, *, exercise: str, gymnast: int, session: int) -> bool:
    """Return whether the coach's exclusion speaks of this turn."""
    return (
        exclusion.exercise == exercise
        and exclusion.gymnast in (None, gymnast)
        and exclusion.session in (None, session)
    )


def can_hold(station: Station, exercise: Exercise) -> bool:
    """Return whether a station has what an exercise takes."""
    return station.places > 0 and exercise.equipment <= station.equipment


def find_useful(problem: Problem, trainee: Trainee) -> frozenset[str]:
    """Return the exercises that she may do, can do somewhere, and that work on what she misses."""
    return frozenset(
        exercise.id
        for exercise in problem.exercises
        if any(
            name in trainee.needs and trainee.needs[name].payoff.value > 0.0
            for name in exercise.feeds
        )
        and any(can_hold(station, exercise) for station in problem.stations)
        and may_do(trainee, exercise)
    )
