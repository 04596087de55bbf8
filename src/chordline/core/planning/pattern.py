"""The weekly pattern of a block and the turns that come of it."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from chordline.core.planning.blocks import Block, find_close_pairs
from chordline.core.planning.instance import Instance
from chordline.core.planning.problem import Turn

#: A gymnast's turn: trainee, slot, round, exercise; all indices.
Place = tuple[int, int, int, int]
#: A gymnast's hard evening that may not be: trainee, slot, muscle group.
Rest = tuple[int, int, str]


@dataclass(frozen=True)
class Held:
    """A station that holds an exercise in a round of a slot; all indices."""

    slot: int
    round: int
    station: int
    exercise: int


@dataclass(frozen=True)
class Pattern:
    """Who does what in the weekly pattern of a block.

    Attributes
    ----------
    places : mapping of Place to Held
        Every gymnast's turns and where she has them.
    """

    places: Mapping[Place, Held] = field(default_factory=dict)


def seat(instance: Instance, places: Iterable[Place], opened: Iterable[Held]) -> Pattern:
    """Return a pattern in which everybody stands at a station that holds her exercise.

    Stations are filled in the order of the gym, so that as few are open as can be.
    """
    left = {
        one: instance.problem.stations[one.station].places
        for one in sorted(opened, key=lambda held: (held.slot, held.round, held.station))
    }
    by_turn: dict[tuple[int, int, int], list[Held]] = {}
    for one in left:
        by_turn.setdefault((one.slot, one.round, one.exercise), []).append(one)
    seats: dict[Place, Held] = {}
    for place in sorted(places):
        at = next(held for held in by_turn[place[1:]] if left[held])
        left[at] -= 1
        seats[place] = at
    return Pattern(seats)


def unroll(instance: Instance, block: Block, pattern: Pattern) -> list[Turn]:
    """Return the turns of a block; who is absent has none, a station for nobody is closed."""
    problem = instance.problem
    found: dict[tuple[int, Held], list[int]] = {}
    for (trainee, s, _, _), held in pattern.places.items():
        gymnast = instance.gymnasts[trainee]
        for session in block.slots[s].sessions:
            if gymnast not in problem.sessions[session].absent:
                found.setdefault((session, held), []).append(gymnast)
    turns = [
        Turn(
            session=session,
            round=held.round,
            station=held.station,
            exercise=instance.exercises[held.exercise].id,
            gymnasts=tuple(sorted(gymnasts)),
        )
        for (session, held), gymnasts in found.items()
    ]
    return sorted(turns, key=lambda one: (one.session, one.round, one.station))


def find_rests(instance: Instance, block: Block, fixed: Iterable[Turn]) -> frozenset[Rest]:
    """Return where a block may not be hard because of turns just before or just after it."""
    problem = instance.problem
    sessions = set(block.sessions)
    hard: dict[int, set[tuple[int, str]]] = {}
    for turn in fixed:
        exercise = instance.exercises[instance.index[turn.exercise]]
        if exercise.hard and turn.session not in sessions:
            hard.setdefault(turn.session, set()).update(
                (gymnast, exercise.group) for gymnast in turn.gymnasts
            )
    slot_of = block.slot_of
    rests: set[Rest] = set()
    for trainee, gymnast in enumerate(instance.gymnasts):
        every = tuple(range(len(problem.sessions)))
        for a, b in find_close_pairs(problem, every, gymnast):
            for inside, outside in ((a, b), (b, a)):
                if inside in sessions and outside in hard:
                    rests.update(
                        (trainee, slot_of[inside], group)
                        for who, group in hard[outside]
                        if who == gymnast
                    )
    return frozenset(rests)
