"""From a group as the records have it to what a plan is asked for."""

from collections.abc import Mapping, Sequence
from datetime import date

from chordline.application.club.records import Group
from chordline.application.training.members import Member
from chordline.application.training.plan_problem import PlannedGymnast, PlanRequest
from chordline.application.training.plan_wish import WishedTurn
from chordline.application.training.records import GroupTraining


def request_for(
    group: Group,
    how: GroupTraining,
    members: Sequence[Member],
    *,
    first_day: date,
    weeks: int,
    absences: Mapping[date, frozenset[int]] | None = None,
) -> PlanRequest:
    """Return what a plan of a group is asked for, without pins and exclusions."""
    away = absences or {}
    return PlanRequest(
        group=how,
        group_name=group.name,
        first_day=first_day,
        weeks=weeks,
        gymnasts=tuple(
            PlannedGymnast(
                id=one.id,
                name=one.gymnast.name,
                birth_date=one.gymnast.birth_date,
                level=one.level,
                findings=one.findings,
                screened_on=one.screened_on,
                signs=one.signs,
                away=frozenset(day for day, ids in away.items() if one.id in ids),
            )
            for one in members
        ),
        work=tuple(done for one in members for done in one.work),
    )


def on_session(turn: WishedTurn, days: Sequence[date]) -> int | None:
    """Return which session a wished turn speaks of; None = no single one."""
    return None if turn.day is None else days.index(turn.day)
