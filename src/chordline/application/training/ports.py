"""The records of training as a protocol; one more book of the club's records."""

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Protocol

from chordline.application.club.records import Json
from chordline.application.training.records import (
    GroupTraining,
    PlanRecord,
    SessionRecord,
    SessionState,
    SkillRecord,
    WorkRecord,
)
from chordline.core.planning.problem import Level


class TrainingBook(Protocol):
    """How groups train, their plans and evenings, what was done, and the skills they have.

    Plans and sessions are read without the gymnasts who were erased since.
    """

    def group(self, group_id: int) -> GroupTraining:
        """Return how a group trains; version 0 with our defaults where nobody has said.

        Raise `NotThereError` where there is no such group.
        """
        ...

    def save_group(self, changed: GroupTraining) -> GroupTraining:
        """Save how a group trains; raise `StaleTrainingError` where it was changed meanwhile."""
        ...

    def levels(self, gymnast_ids: Sequence[int]) -> Mapping[int, Level]:
        """Return the levels of those for whom one was said."""
        ...

    def say_level(self, gymnast_id: int, level: Level) -> None:
        """Keep how long a gymnast has trained."""
        ...

    def add_plan(self, group_id: int, *, first_day: date, record: Json, author: str) -> PlanRecord:
        """Keep a plan; it holds from its first day on."""
        ...

    def plan(self, plan_id: int) -> PlanRecord:
        """Return a plan or raise `NotThereError`."""
        ...

    def plans(self, group_id: int, *, limit: int = 20) -> tuple[PlanRecord, ...]:
        """Return a group's plans, the latest made first."""
        ...

    def plan_holding(self, group_id: int, day: date) -> PlanRecord | None:
        """Return the plan that holds on a day: the latest made of those that have begun by then."""
        ...

    def session_on(
        self, group_id: int, day: date, *, plan_id: int | None, record: Json
    ) -> SessionRecord:
        """Return a group's evening of a day; begin it with `record` where there is none."""
        ...

    def session_held(self, group_id: int, day: date) -> SessionRecord | None:
        """Return a group's evening of a day, None where it was not begun."""
        ...

    def session(self, session_id: int) -> SessionRecord:
        """Return an evening or raise `NotThereError`."""
        ...

    def sessions(
        self, group_id: int, *, first: date | None = None, last: date | None = None
    ) -> tuple[SessionRecord, ...]:
        """Return a group's evenings between two days, the first first."""
        ...

    def change_session(
        self,
        session_id: int,
        *,
        version: int,
        record: Json,
        state: SessionState,
        plan_id: int | None = None,
    ) -> SessionRecord:
        """Change an evening; raise `StaleTrainingError` where it was changed meanwhile.

        Without `plan_id` it stays with the plan that it was taken from.
        """
        ...

    def mark_present(self, session_id: int, gymnast_id: int, present: bool) -> None:
        """Keep whether a gymnast came."""
        ...

    def attendance(self, session_id: int) -> Mapping[int, bool]:
        """Return who was marked, and whether she came."""
        ...

    def mark_done(
        self,
        session_id: int,
        gymnast_id: int,
        *,
        exercise: str,
        share: float,
        minutes: float,
        author: str,
    ) -> None:
        """Keep what she did of an exercise; said again, the later word holds."""
        ...

    def work_of_session(self, session_id: int) -> tuple[WorkRecord, ...]:
        """Return everything done on an evening."""
        ...

    def work(
        self,
        gymnast_ids: Sequence[int],
        *,
        first: date | None = None,
        last: date | None = None,
    ) -> tuple[WorkRecord, ...]:
        """Return what gymnasts did between two days, the first day first."""
        ...

    def skills(self, gymnast_ids: Sequence[int]) -> tuple[SkillRecord, ...]:
        """Return the rungs that gymnasts have."""
        ...

    def say_skill(self, gymnast_id: int, rung: str, *, reached_on: date, author: str) -> None:
        """Keep that she has a rung since a day; said again, the later word holds."""
        ...

    def take_back_skill(self, gymnast_id: int, rung: str) -> None:
        """Say that she has a rung no more."""
        ...
