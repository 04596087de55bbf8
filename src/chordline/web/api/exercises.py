"""The exercises as JSON."""

from typing import Annotated, Any

from fastapi import APIRouter, HTTPException, Path, Query
from pydantic import BaseModel

from chordline.application.training.exercise_json import exercise_to_json
from chordline.application.training.find_exercises import ExerciseQuery, find_exercises
from chordline.core.planning.problem import Kind
from chordline.web.desk import AtDesk

router = APIRouter(tags=["exercises"])

_REFUSALS: dict[int | str, dict[str, Any]] = {404: {"description": "No such exercise."}}


class ExercisesJson(BaseModel):
    """Exercises, each a `chordline.exercise/1`, in the order of an evening."""

    exercises: list[dict[str, Any]]


@router.get("/exercises")
def list_exercises(
    desk: AtDesk,
    *,
    search: Annotated[str, Query(max_length=100)] = "",
    capacity: Annotated[str, Query(alias="for", max_length=60)] = "",
    kind: Kind | None = None,
    equipment: Annotated[str, Query(max_length=40)] = "",
    home: bool = False,
) -> ExercisesJson:
    """Return the exercises that fit what is asked; everything where nothing is."""
    query = ExerciseQuery(search.strip(), capacity, kind, equipment, home)
    found = find_exercises(query, desk.app.training, desk.app.catalogue)
    return ExercisesJson(exercises=[exercise_to_json(k, one) for k, one in found.items()])


@router.get("/exercises/{exercise}", responses=_REFUSALS)
def read_exercise(
    desk: AtDesk, exercise: Annotated[str, Path(min_length=1, max_length=80)]
) -> dict[str, Any]:
    """Return one exercise, `chordline.exercise/1`."""
    entry = desk.app.training.exercises.get(exercise)
    if entry is None:
        raise HTTPException(404, f"No exercise is called '{exercise}'.")
    return exercise_to_json(exercise, entry)
