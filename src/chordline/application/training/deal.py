"""Deals an evening anew among those who came: who is away leaves, who came finds a place."""

from collections.abc import Mapping, Sequence, Set
from dataclasses import dataclass
from typing import Protocol


@dataclass(frozen=True)
class Place:
    """An exercise at a station in a round, and who does it.

    Attributes
    ----------
    station : int
        Its place in the evening's list of stations.
    exercise : str
    gymnasts : tuple of int
    """

    station: int
    exercise: str
    gymnasts: tuple[int, ...]


@dataclass(frozen=True)
class Round:
    """One round of an evening: who works where, and who rests."""

    turns: tuple[Place, ...]
    resting: tuple[int, ...] = ()


@dataclass(frozen=True)
class HeldBack:
    """A turn that was planned for her and that she may not do today."""

    gymnast: int
    exercise: str


@dataclass(frozen=True)
class Dealt:
    """An evening as it was dealt."""

    rounds: tuple[Round, ...]
    held_back: tuple[HeldBack, ...]


class Rules(Protocol):
    """What decides who does what on an evening."""

    def stays(self, gymnast: int, exercise: str) -> bool:
        """Return whether she may do today what was planned for her."""
        ...

    def joins(self, gymnast: int, exercise: str) -> bool:
        """Return whether she may do an exercise that was not planned for her."""
        ...

    def wants(self, gymnast: int, exercise: str) -> bool:
        """Return whether an exercise works on something that she misses."""
        ...

    def rank(self, exercise: str) -> int:
        """Return the place of an exercise's kind in the order inside a session."""
        ...


def deal_evening(
    planned: Sequence[Round],
    *,
    begun: Sequence[Round] = (),
    present: Set[int],
    places: Sequence[int],
    rules: Rules,
) -> Dealt:
    """Return the rounds of an evening for those who are there.

    Parameters
    ----------
    planned : sequence of Round
        As the plan has them, with everybody.
    begun : sequence of Round
        The first rounds, as they were: what has begun is not dealt again.
    present : set of int
    places : sequence of int
        Of each station.
    rules : Rules

    Notes
    -----
    A turn that has nobody left is none: its station closes. Who is there and has no turn comes, in
    the order of the numbers, to a planned exercise that she may do, that she does not do in another
    round, that keeps the order inside a session, and whose station has room: first to what she
    wants, then to where the fewest are, then in the order of the stations. No turn is begun that
    the plan did not have in that round, so coaches and equipment are enough. Where there is none,
    she rests. Who rests in the plan goes on resting. The same people give the same evening, in
    whatever order they come.
    """
    staying: list[list[list[int]]] = []
    held_back: list[HeldBack] = []
    hers: dict[int, dict[int, str]] = {her: {} for her in present}
    for number, round_ in enumerate(begun):
        for turn in round_.turns:
            for her in turn.gymnasts:
                hers.setdefault(her, {})[number] = turn.exercise
    for number, round_ in enumerate(planned[len(begun) :], len(begun)):
        staying.append([])
        for turn in round_.turns:
            there = [her for her in turn.gymnasts if her in present]
            stay = [her for her in there if rules.stays(her, turn.exercise)]
            held_back += [HeldBack(her, turn.exercise) for her in there if her not in stay]
            staying[-1].append(stay)
            for her in stay:
                hers[her][number] = turn.exercise
    rounds = list(begun)
    for number, (round_, groups) in enumerate(
        zip(planned[len(begun) :], staying, strict=True), len(begun)
    ):
        free = present - set(round_.resting) - {her for stay in groups for her in stay}
        for her in sorted(free):
            fitting = [
                (not rules.wants(her, turn.exercise), len(stay), place)
                for place, (turn, stay) in enumerate(zip(round_.turns, groups, strict=True))
                if len(stay) < places[turn.station]
                and rules.joins(her, turn.exercise)
                and _keeps_order(number, turn.exercise, hers[her], rules)
            ]
            if fitting:
                _, _, place = min(fitting)
                groups[place].append(her)
                hers[her][number] = round_.turns[place].exercise
        turns = tuple(
            Place(turn.station, turn.exercise, tuple(stay))
            for turn, stay in zip(round_.turns, groups, strict=True)
            if stay
        )
        working = {her for stay in groups for her in stay}
        rounds.append(Round(turns, tuple(sorted(present - working))))
    return Dealt(tuple(rounds), tuple(dict.fromkeys(held_back)))


def _keeps_order(number: int, exercise: str, hers: Mapping[int, str], rules: Rules) -> bool:
    """Return whether she does not have an exercise twice, and has the kinds in their order."""
    rank = rules.rank(exercise)
    return exercise not in hers.values() and all(
        (rules.rank(other) <= rank) if at < number else (rank <= rules.rank(other))
        for at, other in hers.items()
    )


def exercises_of(rounds: Sequence[Round]) -> Mapping[int, tuple[str, ...]]:
    """Return what everybody does in some rounds, in order; twice where she does it twice."""
    found: dict[int, tuple[str, ...]] = {}
    for round_ in rounds:
        for turn in round_.turns:
            for her in turn.gymnasts:
                found[her] = (*found.get(her, ()), turn.exercise)
    return found
