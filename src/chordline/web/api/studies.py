"""What a coach marks in a study."""

from typing import Annotated, Any

from fastapi import APIRouter, Body, Request
from pydantic import BaseModel, Field
from starlette.responses import Response

from chordline.application.findings_words import upper_first
from chordline.application.repeatability.mark_study import Place
from chordline.errors import MarksError
from chordline.web.desk import AtDesk, Coach
from chordline.web.ids import PathId
from chordline.web.problems import tell_problem

router = APIRouter(tags=["studies"])


class PlaceToKeep(BaseModel):
    """Where a mark was set [px of the upright picture]."""

    x_px: float = Field(allow_inf_nan=False)
    y_px: float = Field(allow_inf_nan=False)


class MarksToKeep(BaseModel):
    """What a coach marked in one photo of a study."""

    landmarks: dict[str, PlaceToKeep] = Field(max_length=40)


class Kept(BaseModel):
    """What was marked first is kept."""

    kept: bool


_ANSWERS: dict[int | str, dict[str, Any]] = {
    404: {"description": "There is no such photo in this study."},
    409: {"description": "The photo is another coach's to mark."},
    422: {"description": "Marks that cannot be measured; the faults are told."},
}


@router.put("/studies/{study_id}/tasks/{task_id}", response_model=Kept, responses=_ANSWERS)
def keep_marks(
    request: Request,
    study_id: PathId,
    task_id: PathId,
    marks: Annotated[MarksToKeep, Body()],
    desk: AtDesk,
    coach: Coach,
) -> Kept | Response:
    """Keep what a coach marked in a study; the photo's own marks stay as they are."""
    with desk.app.records.reading() as tx:
        task = tx.studies.task(task_id)
    if task.study_id != study_id or task.coach != coach:
        told = f"This photo is {task.coach}'s to mark; say who marks on the study's page."
        return tell_problem(request, 409, told)
    places = {name: Place(one.x_px, one.y_px) for name, one in marks.landmarks.items()}
    try:
        desk.app.mark_study().keep(task_id, places)
    except MarksError as error:
        return tell_problem(request, 422, f"{upper_first('; '.join(error.faults))}.")
    return Kept(kept=True)
