"""Ladders, and who has which rung."""

from datetime import date
from typing import Annotated, Any

from fastapi import APIRouter, Path, Query
from pydantic import BaseModel, ConfigDict

from chordline.application.training.climb_json import ladder_to_json
from chordline.web.desk import AtDesk, Coach, Desk
from chordline.web.ids import PathId, QueryId

router = APIRouter(tags=["ladder"])

RungId = Annotated[str, Path(min_length=1, max_length=80)]
_REFUSALS: dict[int | str, dict[str, Any]] = {
    404: {"description": "She is not there (any more)."},
    422: {"description": "No such rung, or a day that is still to come."},
}


class LadderPage(BaseModel):
    """Ladders by name, each a `chordline.ladder/1`; hand `next` back as `after`."""

    ladders: list[dict[str, Any]]
    next: str | None
    total: int


class SkillBody(BaseModel):
    """Since when she has a rung; today where left out."""

    model_config = ConfigDict(extra="forbid")

    reached_on: date | None = None


@router.get("/ladder")
def list_ladders(
    desk: AtDesk,
    group: QueryId = None,
    after: Annotated[str | None, Query(max_length=600)] = None,
    limit: Annotated[int, Query(ge=1, le=100)] = 30,
) -> LadderPage:
    """Return the ladders of a club or a group, by name."""
    page = desk.app.her_ladder().of_club(
        desk.club.id, today=desk.today(), group_id=group, after=after or None, limit=limit
    )
    catalogue, training = desk.app.catalogue, desk.app.training
    ladders = [ladder_to_json(one, catalogue=catalogue, training=training) for one in page.rows]
    return LadderPage(ladders=ladders, next=page.next, total=page.total)


@router.get("/gymnasts/{gymnast_id}/ladder", responses=_REFUSALS)
def read_ladder(desk: AtDesk, gymnast_id: PathId) -> dict[str, Any]:
    """Return a gymnast's ladder, `chordline.ladder/1`; docs/ladder.md describes every key."""
    return _ladder(desk, gymnast_id)


@router.put("/gymnasts/{gymnast_id}/skills/{rung}", responses=_REFUSALS)
def say_skill(
    desk: AtDesk, coach: Coach, gymnast_id: PathId, rung: RungId, body: SkillBody
) -> dict[str, Any]:
    """Keep that she has a rung, and return her ladder; said again, the later word holds."""
    today = desk.today()
    desk.app.her_ladder().say(
        gymnast_id, rung, reached_on=body.reached_on or today, today=today, author=coach
    )
    return _ladder(desk, gymnast_id)


@router.delete("/gymnasts/{gymnast_id}/skills/{rung}", responses=_REFUSALS)
def take_back_skill(desk: AtDesk, gymnast_id: PathId, rung: RungId) -> dict[str, Any]:
    """Say that she has a rung no more, and return her ladder."""
    desk.app.her_ladder().take_back(gymnast_id, rung)
    return _ladder(desk, gymnast_id)


def _ladder(desk: Desk, gymnast_id: int) -> dict[str, Any]:
    climbed = desk.app.her_ladder().of(gymnast_id, today=desk.today())
    return ladder_to_json(climbed, catalogue=desk.app.catalogue, training=desk.app.training)
