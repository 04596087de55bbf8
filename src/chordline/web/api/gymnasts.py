"""Gymnasts and groups."""

from dataclasses import replace
from datetime import date
from typing import Annotated, Any

from fastapi import APIRouter, Query
from pydantic import BaseModel, ConfigDict, Field

from chordline.application.club.consent import as_said
from chordline.application.club.growth_reference import GrowthReference
from chordline.application.club.new_gymnast import AddGymnast
from chordline.application.club.records import Consent, Group, GymnastRecord
from chordline.application.club.refile import refile_unowned
from chordline.application.club.views import GymnastQuery, SortKey
from chordline.errors import RefusedInputError
from chordline.web.desk import AtDesk
from chordline.web.ids import PathId, QueryId

router = APIRouter(tags=["gymnasts"])

Name = Annotated[str, Field(min_length=1, max_length=100)]
Card = Annotated[int, Field(ge=0, le=999)]


class ConsentBody(BaseModel):
    """What a family allowed."""

    measure: bool = False
    keep_pictures: bool = False
    show_to_squad: bool = False
    until: date | None = None


class GymnastBody(BaseModel):
    """A gymnast."""

    id: int
    name: str
    card: int | None
    birth_date: date | None
    growth_reference: GrowthReference | None
    consent: ConsentBody
    archived: bool
    version: int
    last_screened_on: date | None = None


class GymnastPage(BaseModel):
    """A page of gymnasts; hand `next` back as `after`."""

    gymnasts: list[GymnastBody]
    next: str | None
    total: int


class NewGymnastBody(BaseModel):
    """A gymnast to be taken in."""

    model_config = ConfigDict(extra="forbid")

    name: Name
    card: Card | None = None
    birth_date: date | None = None
    growth_reference: GrowthReference | None = None
    consent: ConsentBody = ConsentBody()


class GymnastChange(BaseModel):
    """What is to change; what is left out stays."""

    model_config = ConfigDict(extra="forbid")

    version: int = Field(description="The version that was read; a later one is not overwritten.")
    name: Name | None = None
    card: Card | None = None
    birth_date: date | None = None
    growth_reference: GrowthReference | None = None
    consent: ConsentBody | None = None


class GroupBody(BaseModel):
    """A group."""

    id: int
    name: str
    size: int


class NewGroupBody(BaseModel):
    """A group to be made."""

    model_config = ConfigDict(extra="forbid")

    name: Name


@router.get("/gymnasts")
def list_gymnasts(
    desk: AtDesk,
    search: Annotated[str, Query(max_length=100)] = "",
    group: QueryId = None,
    archived: bool = False,
    sort: SortKey = "name",
    descending: bool = False,
    after: str | None = None,
    limit: Annotated[int, Query(ge=1, le=200)] = 50,
) -> GymnastPage:
    """Return gymnasts: by card number or the beginnings of words of their names."""
    query = GymnastQuery(
        desk.club.id,
        text=search,
        group_id=group,
        archived=archived,
        sort=sort,
        descending=descending,
        after=after or None,
        limit=limit,
    )
    with desk.app.records.reading() as tx:
        page = tx.gymnasts.page(query)
    bodies = [_body(row.gymnast, row.last_screened_on) for row in page.rows]
    return GymnastPage(gymnasts=bodies, next=page.next, total=page.total)


@router.post("/gymnasts", status_code=201)
def add_gymnast(desk: AtDesk, new: NewGymnastBody) -> GymnastBody:
    """Take a gymnast in; photos that nobody owned are looked at again."""
    her = AddGymnast(desk.app.records)(
        desk.club.id,
        name=new.name,
        card=new.card,
        birth_date=new.birth_date,
        growth_reference=new.growth_reference,
        consent=Consent(**new.consent.model_dump()),
    )
    desk.measuring.wake()
    return _body(her)


@router.get("/gymnasts/{gymnast_id}")
def get_gymnast(desk: AtDesk, gymnast_id: PathId) -> GymnastBody:
    """Return a gymnast."""
    with desk.app.records.reading() as tx:
        return _body(tx.gymnasts.get(gymnast_id))


@router.patch("/gymnasts/{gymnast_id}")
def change_gymnast(desk: AtDesk, gymnast_id: PathId, change: GymnastChange) -> GymnastBody:
    """Change a gymnast's record; 409 where somebody changed it meanwhile."""
    given = change.model_dump(exclude_unset=True, exclude={"version", "consent"})
    if "name" in given and given["name"] is None:
        raise RefusedInputError("a gymnast needs a name")
    told: dict[str, Any] | None = None
    if change.consent is not None:
        told = change.consent.model_dump()
    with desk.app.records.transaction() as tx:
        before = tx.gymnasts.get(gymnast_id)
        if told is not None:
            given["consent"] = as_said(
                before.consent, replace(before.consent, **told), desk.today()
            )
        after = tx.gymnasts.update(replace(before, version=change.version, **given))
        if after.card != before.card:
            refile_unowned(tx, desk.club.id)
    desk.measuring.wake()
    return _body(after)


@router.get("/groups")
def list_groups(desk: AtDesk) -> list[GroupBody]:
    """Return the groups with their sizes."""
    with desk.app.records.reading() as tx:
        return [_group(one) for one in tx.clubs.groups(desk.club.id)]


@router.post("/groups", status_code=201)
def add_group(desk: AtDesk, new: NewGroupBody) -> GroupBody:
    """Make a group."""
    with desk.app.records.transaction() as tx:
        return _group(tx.clubs.add_group(desk.club.id, " ".join(new.name.split())))


@router.put("/groups/{group_id}/gymnasts/{gymnast_id}", status_code=204)
def put_in_group(desk: AtDesk, group_id: PathId, gymnast_id: PathId) -> None:
    """Put a gymnast into a group."""
    with desk.app.records.transaction() as tx:
        tx.clubs.put_in_group(group_id, [gymnast_id])


@router.delete("/groups/{group_id}/gymnasts/{gymnast_id}", status_code=204)
def take_out_of_group(desk: AtDesk, group_id: PathId, gymnast_id: PathId) -> None:
    """Take a gymnast out of a group."""
    with desk.app.records.transaction() as tx:
        tx.clubs.take_out_of_group(group_id, [gymnast_id])


def _body(one: GymnastRecord, last_screened_on: date | None = None) -> GymnastBody:
    return GymnastBody(
        id=one.id,
        name=one.name,
        card=one.card,
        birth_date=one.birth_date,
        growth_reference=one.growth_reference,
        consent=ConsentBody(
            measure=one.consent.measure,
            keep_pictures=one.consent.keep_pictures,
            show_to_squad=one.consent.show_to_squad,
            until=one.consent.until,
        ),
        archived=one.archived_at is not None,
        version=one.version,
        last_screened_on=last_screened_on,
    )


def _group(one: Group) -> GroupBody:
    return GroupBody(id=one.id, name=one.name, size=one.size)
