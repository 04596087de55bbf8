"""What a gymnast may do on an evening, and what works on something that she misses."""

from collections.abc import Sequence

from chordline.application.training.records import WorkRecord
from chordline.core.planning.may import may_do
from chordline.core.planning.problem import KINDS, Problem


class Allowed:
    """Answers for the members of a group on a day: the rules by which an evening is dealt.

    Parameters
    ----------
    problem : Problem
        Of the group on this day: everybody's age, level, signs and shortfalls.
    yesterday : sequence of WorkRecord
        What was done on the day before: hard work of one muscle group is not on consecutive days.
    """

    def __init__(
        self,
        problem: Problem,
        *,
        yesterday: Sequence[WorkRecord] = (),
    ) -> None:
        self._exercises = {one.id: one for one in problem.exercises}
        self._trainees = {one.id: one for one in problem.trainees}
        self._tired = {
            (one.gymnast_id, self._exercises[one.exercise].group)
            for one in yesterday
            if one.share > 0.0
            and one.exercise in self._exercises
            and self._exercises[one.exercise].hard
        }

    def stays(self, gymnast: int, exercise: str) -> bool:
        """Return whether no sign bars her a turn that was planned for her.

        What an exercise loads that the catalogue has no more is not known: any sign bars it.
        """
        known = self._exercises.get(exercise)
        barred = self._trainees[gymnast].barred
        return not barred if known is None else not known.loads & barred

    def joins(self, gymnast: int, exercise: str) -> bool:
        """Return whether she may do an exercise that was not planned for her."""
        known = self._exercises.get(exercise)
        if known is None or not may_do(self._trainees[gymnast], known):
            return False
        return not (known.hard and (gymnast, known.group) in self._tired)

    def wants(self, gymnast: int, exercise: str) -> bool:
        """Return whether an exercise works on something that is short."""
        known = self._exercises.get(exercise)
        needs = self._trainees[gymnast].needs
        return known is not None and any(
            name in needs and needs[name].shortfall.value > 0.0 for name in known.feeds
        )

    def rank(self, exercise: str) -> int:
        """Return the place of an exercise's kind in the order inside a session."""
        known = self._exercises.get(exercise)
        return 0 if known is None else KINDS.index(known.kind)
