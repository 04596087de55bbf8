"""Implements `TrainingBook`."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date
from typing import Any

from sqlalchemy import Select, select

from chordline.adapters.db.rows import AnyRow
from chordline.adapters.db.schema import GYM_GROUP, GYMNAST
from chordline.adapters.db.session import Session
from chordline.adapters.db.training_rows import (
    group_training_of,
    plan_of,
    session_of,
    session_values,
    skill_of,
    station_of,
    work_of,
)
from chordline.adapters.db.training_schema import (
    ATTENDANCE,
    GROUP_TRAINING,
    SKILL,
    STATION,
    TRAINING_LEVEL,
    TRAINING_PLAN,
    TRAINING_SESSION,
    WORK_DONE,
)
from chordline.application.club.records import Json
from chordline.application.training.defaults import default_training
from chordline.application.training.gone import named_in, without_gone
from chordline.application.training.records import (
    GroupTraining,
    PlanRecord,
    SessionRecord,
    SessionState,
    SkillRecord,
    StaleTrainingError,
    WorkRecord,
)
from chordline.core.planning.problem import Level


class SqlTraining:
    """How groups train, their plans and sessions, what was done, and the skills they have."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def group(self, group_id: int) -> GroupTraining:
        """Return how a group trains."""
        self._session.row(GYM_GROUP, group_id)
        said = select(GROUP_TRAINING).where(GROUP_TRAINING.c.gym_group_id == group_id)
        rows = self._session.rows(said)
        if not rows:
            return default_training(group_id)
        stations = select(STATION).where(STATION.c.gym_group_id == group_id)
        in_order = self._session.rows(stations.order_by(STATION.c.place))
        return group_training_of(rows[0], tuple(map(station_of, in_order)))

    def save_group(self, changed: GroupTraining) -> GroupTraining:
        """Save how a group trains."""
        group_id = changed.group_id
        # The group's own row is there before anybody has said how it trains: it keeps the order.
        self._session.row(GYM_GROUP, group_id, lock=True)
        current = self.group(group_id)
        if current.version != changed.version:
            raise StaleTrainingError(current)
        self._session.put(
            GROUP_TRAINING,
            gym_group_id=group_id,
            weekdays=list(changed.weekdays),
            starts_at=changed.starts_at,
            minutes=changed.minutes,
            coaches=changed.coaches,
            version=changed.version + 1,
        )
        before = STATION.delete().where(STATION.c.gym_group_id == group_id)
        self._session.connection.execute(before)
        for place, station in enumerate(changed.stations):
            values = {"name": station.name.strip(), "places": station.places}
            new = STATION.insert().values(
                gym_group_id=group_id, place=place, equipment=list(station.equipment), **values
            )
            self._session.connection.execute(new)
        return self.group(group_id)

    def levels(self, gymnast_ids: Sequence[int]) -> Mapping[int, Level]:
        """Return the levels of those for whom one was said."""
        said = select(TRAINING_LEVEL).where(TRAINING_LEVEL.c.gymnast_id.in_(gymnast_ids))
        return {row.gymnast_id: row.level for row in self._session.rows(said)}

    def say_level(self, gymnast_id: int, level: Level) -> None:
        """Keep how long a gymnast has trained."""
        self._session.row(GYMNAST, gymnast_id)
        self._session.put(TRAINING_LEVEL, gymnast_id=gymnast_id, level=level)

    def add_plan(self, group_id: int, *, first_day: date, record: Json, author: str) -> PlanRecord:
        """Keep a plan."""
        self._session.row(GYM_GROUP, group_id)
        plan_id = self._session.insert(
            TRAINING_PLAN,
            gym_group_id=group_id,
            first_day=first_day,
            record=dict(record),
            made_at=self._session.now(),
            author=author,
        )
        return self.plan(plan_id)

    def plan(self, plan_id: int) -> PlanRecord:
        """Return a plan."""
        return self._plans([self._session.row(TRAINING_PLAN, plan_id)])[0]

    def plans(self, group_id: int, *, limit: int = 20) -> tuple[PlanRecord, ...]:
        """Return a group's plans, the latest made first."""
        theirs = select(TRAINING_PLAN).where(TRAINING_PLAN.c.gym_group_id == group_id)
        latest = theirs.order_by(TRAINING_PLAN.c.id.desc()).limit(limit)
        return self._plans(self._session.rows(latest))

    def plan_holding(self, group_id: int, day: date) -> PlanRecord | None:
        """Return the plan that holds on a day."""
        begun = select(TRAINING_PLAN).where(
            TRAINING_PLAN.c.gym_group_id == group_id, TRAINING_PLAN.c.first_day <= day
        )
        rows = self._session.rows(begun.order_by(TRAINING_PLAN.c.id.desc()).limit(1))
        return self._plans(rows)[0] if rows else None

    def session_on(
        self, group_id: int, day: date, *, plan_id: int | None, record: Json
    ) -> SessionRecord:
        """Return a group's session of a day; begin it where there is none."""
        self._session.row(GYM_GROUP, group_id)
        self._session.insert_once(
            TRAINING_SESSION,
            ("gym_group_id", "held_on"),
            gym_group_id=group_id,
            held_on=day,
            training_plan_id=plan_id,
            version=1,
            **session_values(record, "planned"),
        )
        held = self._held_on(group_id, day)
        return self._sessions(held)[0]

    def session_held(self, group_id: int, day: date) -> SessionRecord | None:
        """Return a group's session of a day, None where it was not begun."""
        held = self._held_on(group_id, day)
        return self._sessions(held)[0] if held else None

    def session(self, session_id: int) -> SessionRecord:
        """Return a session."""
        return self._sessions([self._session.row(TRAINING_SESSION, session_id)])[0]

    def sessions(
        self, group_id: int, *, first: date | None = None, last: date | None = None
    ) -> tuple[SessionRecord, ...]:
        """Return a group's sessions between two days, the first first."""
        held = TRAINING_SESSION.c.held_on
        theirs = select(TRAINING_SESSION).where(TRAINING_SESSION.c.gym_group_id == group_id)
        theirs = theirs if first is None else theirs.where(held >= first)
        theirs = theirs if last is None else theirs.where(held <= last)
        return self._sessions(self._session.rows(theirs.order_by(held)))

    def change_session(
        self,
        session_id: int,
        *,
        version: int,
        record: Json,
        state: SessionState,
        plan_id: int | None = None,
    ) -> SessionRecord:
        """Change a session."""
        row = self._session.row(TRAINING_SESSION, session_id, lock=True)
        if row.version != version:
            raise StaleTrainingError(self._sessions([row])[0])
        values = session_values(record, state)
        if plan_id is not None:
            values["training_plan_id"] = plan_id
        self._session.change(TRAINING_SESSION, session_id, version=version + 1, **values)
        return self.session(session_id)

    def mark_present(self, session_id: int, gymnast_id: int, present: bool) -> None:
        """Keep whether a gymnast came."""
        self._check(session_id, gymnast_id)
        self._session.put(
            ATTENDANCE, training_session_id=session_id, gymnast_id=gymnast_id, present=present
        )

    def attendance(self, session_id: int) -> Mapping[int, bool]:
        """Return who was marked, and whether she came."""
        marked = select(ATTENDANCE).where(ATTENDANCE.c.training_session_id == session_id)
        rows = self._session.rows(marked.order_by(ATTENDANCE.c.gymnast_id))
        return {row.gymnast_id: row.present for row in rows}

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
        """Keep what she did of an exercise."""
        self._check(session_id, gymnast_id)
        self._session.put(
            WORK_DONE,
            training_session_id=session_id,
            gymnast_id=gymnast_id,
            exercise=exercise,
            share=share,
            minutes=minutes,
            author=author,
        )

    def work_of_session(self, session_id: int) -> tuple[WorkRecord, ...]:
        """Return everything done in a session."""
        done = _work().where(WORK_DONE.c.training_session_id == session_id)
        order = done.order_by(WORK_DONE.c.gymnast_id, WORK_DONE.c.exercise)
        return tuple(map(work_of, self._session.rows(order)))

    def work(
        self,
        gymnast_ids: Sequence[int],
        *,
        first: date | None = None,
        last: date | None = None,
    ) -> tuple[WorkRecord, ...]:
        """Return what gymnasts did between two days, the first day first."""
        held = TRAINING_SESSION.c.held_on
        done = _work().where(WORK_DONE.c.gymnast_id.in_(gymnast_ids))
        done = done if first is None else done.where(held >= first)
        done = done if last is None else done.where(held <= last)
        order = done.order_by(
            held, TRAINING_SESSION.c.id, WORK_DONE.c.gymnast_id, WORK_DONE.c.exercise
        )
        return tuple(map(work_of, self._session.rows(order)))

    def skills(self, gymnast_ids: Sequence[int]) -> tuple[SkillRecord, ...]:
        """Return the rungs that gymnasts have."""
        theirs = select(SKILL).where(SKILL.c.gymnast_id.in_(gymnast_ids))
        order = theirs.order_by(SKILL.c.gymnast_id, SKILL.c.reached_on, SKILL.c.rung)
        return tuple(map(skill_of, self._session.rows(order)))

    def say_skill(self, gymnast_id: int, rung: str, *, reached_on: date, author: str) -> None:
        """Keep that she has a rung since a day."""
        self._session.row(GYMNAST, gymnast_id)
        self._session.put(
            SKILL, gymnast_id=gymnast_id, rung=rung, reached_on=reached_on, author=author
        )

    def take_back_skill(self, gymnast_id: int, rung: str) -> None:
        """Say that she has a rung no more."""
        hers = SKILL.delete().where(SKILL.c.gymnast_id == gymnast_id, SKILL.c.rung == rung)
        self._session.connection.execute(hers)

    def _held_on(self, group_id: int, day: date) -> list[AnyRow]:
        return self._session.rows(
            select(TRAINING_SESSION).where(
                TRAINING_SESSION.c.gym_group_id == group_id, TRAINING_SESSION.c.held_on == day
            )
        )

    def _check(self, session_id: int, gymnast_id: int) -> None:
        self._session.row(TRAINING_SESSION, session_id)
        self._session.row(GYMNAST, gymnast_id)

    def _plans(self, rows: Sequence[AnyRow]) -> tuple[PlanRecord, ...]:
        there = self._there([row.record for row in rows])
        plans = map(plan_of, rows)
        return tuple(replace(one, record=without_gone(one.record, there)) for one in plans)

    def _sessions(self, rows: Sequence[AnyRow]) -> tuple[SessionRecord, ...]:
        there = self._there([row.record for row in rows])
        held = map(session_of, rows)
        return tuple(replace(one, record=without_gone(one.record, there)) for one in held)

    def _there(self, records: Sequence[Json]) -> frozenset[int]:
        """Return those named in some records who were not erased."""
        named = sorted(frozenset[int]().union(*map(named_in, records)))
        if not named:
            return frozenset()
        there = select(GYMNAST.c.id).where(GYMNAST.c.id.in_(named))
        return frozenset(row.id for row in self._session.rows(there))


def _work() -> Select[Any]:
    return select(WORK_DONE, TRAINING_SESSION.c.held_on).join(
        TRAINING_SESSION, TRAINING_SESSION.c.id == WORK_DONE.c.training_session_id
    )
