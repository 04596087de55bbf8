"""How far a group's plan is."""

from fastapi import APIRouter
from pydantic import BaseModel

from chordline.application.training.members import find_group
from chordline.web.desk import AtDesk
from chordline.web.ids import PathId

router = APIRouter(tags=["training"])


class PlanningJson(BaseModel):
    """How far a plan is; `stage` is none, waits, runs, done, stopped or refused.

    `told`: why it was refused, a sentence each.
    """

    busy: bool
    stage: str
    share: float
    told: list[str]


@router.get("/groups/{group_id}/planning")
def show_planning(desk: AtDesk, group_id: PathId) -> PlanningJson:
    """Return how far a group's plan is."""
    with desk.app.records.reading() as tx:
        find_group(tx, group_id)
    state = desk.planning.state(group_id)
    if state is None:
        return PlanningJson(busy=False, stage="none", share=0.0, told=[])
    return PlanningJson(
        busy=state.busy, stage=state.stage, share=state.share, told=list(state.told)
    )
