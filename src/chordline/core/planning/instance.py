"""A problem made ready to be solved: what matters of it, by index."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from chordline.core.planning.blocks import Slot
from chordline.core.planning.may import can_hold, find_useful, is_excluded, may_do
from chordline.core.planning.problem import KINDS, Exercise, Pin, Problem
from chordline.core.planning.worth import weigh_payoff


@dataclass(frozen=True)
class Instance:
    """A problem with what several ways of solving it share.

    Attributes
    ----------
    problem : Problem
    exercises : tuple of Exercise
        Those that help somebody or are pinned; the others never enter a plan.
    choice : tuple of tuple of int
        For every trainee, the indices of the exercises that she may do and that are any use.
    """

    problem: Problem
    exercises: tuple[Exercise, ...]
    choice: tuple[tuple[int, ...], ...]

    @cached_property
    def index(self) -> Mapping[str, int]:
        """Exercise id to index."""
        return {one.id: e for e, one in enumerate(self.exercises)}

    @cached_property
    def rank(self) -> tuple[int, ...]:
        """Place of every exercise's kind in the order inside a session."""
        return tuple(KINDS.index(one.kind) for one in self.exercises)

    @cached_property
    def stations_for(self) -> tuple[tuple[int, ...], ...]:
        """For every exercise, the stations that can hold it."""
        return tuple(
            tuple(k for k, station in enumerate(self.problem.stations) if can_hold(station, one))
            for one in self.exercises
        )

    @cached_property
    def payoffs(self) -> tuple[Mapping[str, float], ...]:
        """For every trainee, what a unit of each capacity counts for [% of chord / unit]."""
        weight = self.problem.rules.doubt_weight
        return tuple(
            {
                name: worth
                for name, need in one.needs.items()
                if (worth := weigh_payoff(need.payoff, weight)) > 0.0
            }
            for one in self.problem.trainees
        )

    @cached_property
    def gymnasts(self) -> tuple[int, ...]:
        """Ids of the trainees, in order."""
        return tuple(one.id for one in self.problem.trainees)

    def choose(self, trainee: int, slot: Slot) -> tuple[int, ...]:
        """Return what she may do in a slot: it fits into a round and is not excluded."""
        gymnast, session = self.gymnasts[trainee], slot.sessions[0]
        return tuple(
            e
            for e in self.choice[trainee]
            if self.exercises[e].minutes <= slot.round_min
            and not any(
                is_excluded(one, exercise=self.exercises[e].id, gymnast=gymnast, session=session)
                for one in self.problem.exclusions
            )
        )


def prepare(problem: Problem) -> Instance:
    """Return a problem made ready."""
    wanted = [
        find_useful(problem, one) | {pin.exercise for pin in find_pins(problem, one.id)}
        for one in problem.trainees
    ]
    kept = tuple(one for one in problem.exercises if any(one.id in ids for ids in wanted))
    return Instance(
        problem=problem,
        exercises=kept,
        choice=tuple(
            tuple(
                e
                for e, one in enumerate(kept)
                if one.id in ids
                and may_do(trainee, one)
                and any(can_hold(station, one) for station in problem.stations)
            )
            for trainee, ids in zip(problem.trainees, wanted, strict=True)
        ),
    )


def find_pins(problem: Problem, gymnast: int) -> tuple[Pin, ...]:
    """Return the pins that speak of a gymnast by name, or of everybody who may."""
    return tuple(one for one in problem.pins if one.gymnast in (None, gymnast))
