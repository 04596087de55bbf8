"""Rows of training's tables as records, and back."""

from typing import Any

from chordline.adapters.db.rows import AnyRow
from chordline.application.club.records import Json
from chordline.application.training.records import (
    GroupTraining,
    PlanRecord,
    SessionRecord,
    SessionState,
    SkillRecord,
    StationRecord,
    WorkRecord,
)


def group_training_of(row: AnyRow, stations: tuple[StationRecord, ...]) -> GroupTraining:
    """Return how a group trains."""
    return GroupTraining(
        group_id=row.gym_group_id,
        weekdays=tuple(row.weekdays),
        starts_at=row.starts_at,
        minutes=row.minutes,
        coaches=row.coaches,
        stations=stations,
        version=row.version,
    )


def station_of(row: AnyRow) -> StationRecord:
    """Return a station."""
    return StationRecord(row.name, row.places, tuple(row.equipment))


def plan_of(row: AnyRow) -> PlanRecord:
    """Return a plan."""
    return PlanRecord(
        id=row.id,
        group_id=row.gym_group_id,
        first_day=row.first_day,
        record=row.record,
        made_at=row.made_at,
        author=row.author,
    )


def session_of(row: AnyRow) -> SessionRecord:
    """Return a session."""
    return SessionRecord(
        id=row.id,
        group_id=row.gym_group_id,
        held_on=row.held_on,
        plan_id=row.training_plan_id,
        record=row.record,
        state=row.state,
        version=row.version,
    )


def session_values(record: Json, state: SessionState) -> dict[str, Any]:
    """Return what changes of a session as columns."""
    return {"record": dict(record), "state": state}


def work_of(row: AnyRow) -> WorkRecord:
    """Return what was done, from a row with the session's day beside it."""
    return WorkRecord(
        session_id=row.training_session_id,
        gymnast_id=row.gymnast_id,
        held_on=row.held_on,
        exercise=row.exercise,
        share=row.share,
        minutes=row.minutes,
        author=row.author,
    )


def skill_of(row: AnyRow) -> SkillRecord:
    """Return a rung that she has."""
    return SkillRecord(row.gymnast_id, row.rung, row.reached_on, row.author)
