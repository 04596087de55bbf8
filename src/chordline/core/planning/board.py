"""A block's pattern while it is being made: who stands where, and what one turn more is worth."""

from collections.abc import Iterable, Mapping

from chordline.core.planning.blocks import Block, find_close_pairs, find_week_shapes
from chordline.core.planning.instance import Instance
from chordline.core.planning.pattern import Held, Pattern, Place, Rest
from chordline.core.planning.problem import KINDS
from chordline.core.planning.worth import expect_more


class Board:
    """The turns of a block's pattern, and the rules and the worth that follow from them.

    Attributes
    ----------
    places : dict of Place to Held
        Everybody's turns. Change them by `put` and `take` only.
    """

    def __init__(
        self,
        instance: Instance,
        block: Block,
        *,
        gained: tuple[Mapping[str, float], ...],
        rests: frozenset[Rest] = frozenset(),
    ) -> None:
        problem = instance.problem
        self.instance, self.block = instance, block
        self.places: dict[Place, Held] = {}
        self._gained, self._rests = gained, rests
        slot_of = block.slot_of
        self.weeks = [find_week_shapes(problem, block, one) for one in instance.gymnasts]
        self.choice = [
            [
                instance.choose(t, slot) if any(s in there for there, _ in weeks) else ()
                for s, slot in enumerate(block.slots)
            ]
            for t, weeks in enumerate(self.weeks)
        ]
        self.close = [
            {(slot_of[a], slot_of[b]) for a, b in find_close_pairs(problem, block.sessions, one)}
            for one in instance.gymnasts
        ]
        self._hers: list[dict[tuple[int, int], int]] = [{} for _ in self.weeks]
        #: Minutes of each exercise in each kind of week.
        self._minutes: list[list[dict[int, float]]] = [[{} for _ in one] for one in self.weeks]
        self._gains: list[dict[str, float]] = [{} for _ in self.weeks]

    def lay(self, pattern: Pattern) -> None:
        """Put every turn of a pattern."""
        for (t, _, _, _), held in pattern.places.items():
            self.put(t, held)

    def put(self, t: int, held: Held) -> None:
        """Give a trainee a turn."""
        self.places[t, held.slot, held.round, held.exercise] = held
        self._hers[t][held.slot, held.round] = held.exercise
        self._count(t, held.slot, held.exercise, 1.0)

    def take(self, place: Place) -> None:
        """Take a trainee's turn away."""
        t, s, r, e = place
        del self.places[place]
        del self._hers[t][s, r]
        self._count(t, s, e, -1.0)

    def _count(self, t: int, s: int, e: int, turns: float) -> None:
        doses = self._added_doses(t, s, e, turns)
        minutes = turns * self.instance.exercises[e].minutes
        for (there, _), week in zip(self.weeks[t], self._minutes[t], strict=True):
            if s in there:
                week[e] = week.get(e, 0.0) + minutes
        for capacity, fed in self.instance.exercises[e].feeds.items():
            self._gains[t][capacity] = self._gains[t].get(capacity, 0.0) + doses * fed.value

    def _added_doses(self, t: int, s: int, e: int, turns: float) -> float:
        """Return by how much turns in a slot change the weekly doses, summed over the weeks."""
        exercise = self.instance.exercises[e]
        dose, minutes = exercise.weekly_dose_min, turns * exercise.minutes
        added = 0.0
        for (there, weeks), week in zip(self.weeks[t], self._minutes[t], strict=True):
            if s in there:
                done = week.get(e, 0.0)
                added += weeks * (
                    min(max(done + minutes, 0.0) / dose, 1.0) - min(max(done, 0.0) / dose, 1.0)
                )
        return added

    def gains(self, t: int) -> dict[str, float]:
        """Return what earlier blocks and this one are expected to give, by capacity."""
        names = {**self._gained[t], **self._gains[t]}
        return {
            name: self._gained[t].get(name, 0.0) + max(self._gains[t].get(name, 0.0), 0.0)
            for name in names
        }

    def straightening(self) -> float:
        """Return what the block takes away after what earlier ones took [% of chord]."""
        total = 0.0
        for t, trainee in enumerate(self.instance.problem.trainees):
            for name, payoff in self.instance.payoffs[t].items():
                missing = trainee.needs[name].shortfall
                before = self._gained[t].get(name, 0.0)
                total += payoff * expect_more(
                    missing, gained=before, more=max(self._gains[t].get(name, 0.0), 0.0)
                )
        return total

    def weigh(self, t: int, s: int, e: int) -> float:
        """Return what one turn more takes away [% of chord]."""
        doses = self._added_doses(t, s, e, 1.0)
        worth = 0.0
        if doses <= 0.0:
            return worth
        needs, payoffs = self.instance.problem.trainees[t].needs, self.instance.payoffs[t]
        for name, fed in self.instance.exercises[e].feeds.items():
            if name in payoffs:
                missing = needs[name].shortfall
                now = self._gained[t].get(name, 0.0) + max(self._gains[t].get(name, 0.0), 0.0)
                worth += payoffs[name] * expect_more(missing, gained=now, more=doses * fed.value)
        return worth

    def is_free(self, t: int, s: int, r: int) -> bool:
        """Return whether a trainee has nothing to do in a round."""
        return (s, r) not in self._hers[t]

    def window(self, t: int, s: int, r: int) -> tuple[int, int]:
        """Return the ranks between which a turn must be: kinds follow each other in order."""
        rank = self.instance.rank
        low, high = 0, len(KINDS)
        for (slot, at), e in self._hers[t].items():
            if slot == s:
                if at < r:
                    low = max(low, rank[e])
                elif at > r:
                    high = min(high, rank[e])
        return low, high

    def repeats(self, t: int, slots: Iterable[int], e: int) -> int:
        """Return how many turns of an exercise a trainee has in some slots."""
        within = set(slots)
        return sum(s in within and which == e for (s, _), which in self._hers[t].items())

    def minutes_of(self, t: int, there: frozenset[int], group: str) -> float:
        """Return the minutes of a group in a week with these slots."""
        exercises = self.instance.exercises
        return sum(
            exercises[e].minutes
            for (s, _), e in self._hers[t].items()
            if s in there and exercises[e].group == group
        )

    def hard_evenings(self, t: int, group: str) -> set[int]:
        """Return the slots in which a group works hard."""
        exercises = self.instance.exercises
        return {
            s
            for (s, _), e in self._hers[t].items()
            if exercises[e].hard and exercises[e].group == group
        }

    def allows(self, t: int, s: int, e: int) -> bool:
        """Return whether repeats, weekly minutes and hard evenings leave room for a turn."""
        rules, exercise = self.instance.problem.rules, self.instance.exercises[e]
        if self.repeats(t, (s,), e) >= rules.most_repeats:
            return False
        most = rules.most_weekly_min.get(exercise.group)
        if most is not None and any(
            s in there
            and exercise.minutes + self.minutes_of(t, there, exercise.group) > most + 1e-9
            for there, _ in self.weeks[t]
        ):
            return False
        if not exercise.hard:
            return True
        if (t, s, exercise.group) in self._rests:
            return False
        evenings = self.hard_evenings(t, exercise.group) | {s}
        return not any(a in evenings and b in evenings for a, b in self.close[t]) and all(
            len(evenings & there) <= rules.most_weekly_hard for there, _ in self.weeks[t]
        )
