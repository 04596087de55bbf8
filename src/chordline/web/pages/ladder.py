"""The ladder: a group at a glance, and one gymnast from the floor up."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated
from urllib.parse import urlencode

from fastapi import APIRouter, Form, Query, Request
from starlette.responses import HTMLResponse, Response

from chordline.application.training.climb import STANDINGS, Climbed, ClimbedRung
from chordline.application.training.climb_words import (
    STANDING_MEANING,
    STANDING_WORDS,
    WHOSE_THRESHOLDS,
    also_ready,
    brief_in_words,
    chance_in_words,
    clear_in_words,
    joint_in_words,
    missing_in_words,
    next_in_words,
    open_in_words,
    said_in_words,
    signs_in_words,
)
from chordline.core.planning.ladder import Standing
from chordline.web.desk import AtDesk, Coach, Desk
from chordline.web.forms import go_to, read_day
from chordline.web.ids import PathId, read_id
from chordline.web.rendering import render

router = APIRouter()

#: So many gymnasts stand side by side.
_COLUMNS = 16

Token = Annotated[str, Form(max_length=64)]
RungName = Annotated[str, Form(min_length=1, max_length=80)]


@dataclass(frozen=True)
class CellShown:
    """How a gymnast stands to a rung, in the few words of a cell."""

    standing: Standing
    words: str
    brief: str


@dataclass(frozen=True)
class RungShown:
    """A rung of her ladder in words.

    Attributes
    ----------
    one : ClimbedRung
    words : str
    signs, chance, said : str
        May be empty.
    missing, open, clear : tuple of str
    meanwhile : mapping of exercise to its title
    now : bool
        Whether what is missing matters now: she has the rungs before, and no sign bars it.
    """

    one: ClimbedRung
    words: str
    signs: str
    chance: str
    said: str
    missing: tuple[str, ...]
    open: tuple[str, ...]
    clear: tuple[str, ...]
    meanwhile: Mapping[str, str]
    now: bool


@router.get("/ladder")
def show_group(
    request: Request,
    desk: AtDesk,
    group: Annotated[str, Query(max_length=12)] = "",
    after: Annotated[str | None, Query(max_length=600)] = None,
) -> HTMLResponse:
    """Show the gymnasts of a group, by name, beside the rungs."""
    club, app = desk.club, desk.app
    group_id = read_id(group)
    page = desk.app.her_ladder().of_club(
        club.id, today=desk.today(), group_id=group_id, after=after or None, limit=_COLUMNS
    )
    with app.records.reading() as tx:
        groups = tx.clubs.groups(club.id)
    asked = {"group": group_id, "after": page.next}
    rungs = list(app.training.rungs.items())
    return render(
        request,
        "ladder.html",
        here="squad",
        groups=groups,
        group=next((one for one in groups if one.id == group_id), None),
        gymnasts=[one.known for one in page.rows],
        rows=[
            (entry, [_cell(one.rungs[place], desk) for one in page.rows])
            for place, (_, entry) in enumerate(rungs)
        ],
        nexts=[next_in_words(one) for one in page.rows],
        total=page.total,
        later=after is not None,
        following=None
        if page.next is None
        else "/ladder?" + urlencode({key: value for key, value in asked.items() if value}),
        key=_key(),
        whose=WHOSE_THRESHOLDS,
    )


def _cell(one: ClimbedRung, desk: Desk) -> CellShown:
    brief = brief_in_words(one, catalogue=desk.app.catalogue, training=desk.app.training)
    return CellShown(one.standing, STANDING_WORDS[one.standing], brief)


def _key() -> list[tuple[Standing, str, str]]:
    return [(one, STANDING_WORDS[one], STANDING_MEANING[one]) for one in STANDINGS]


@router.get("/gymnasts/{gymnast_id}/ladder")
def show_hers(request: Request, desk: AtDesk, gymnast_id: PathId) -> HTMLResponse:
    """Show a gymnast's ladder from the floor up."""
    climbed = desk.app.her_ladder().of(gymnast_id, today=desk.today())
    return render(
        request,
        "her_ladder.html",
        here="squad",
        her=climbed.known,
        rungs=[_shown(one, climbed, desk) for one in climbed.rungs],
        following=climbed.next,
        next_words=next_in_words(climbed),
        also=also_ready(climbed),
        signs=[desk.app.catalogue.referrals[sign] for sign in climbed.known.signs],
        elsewhere=climbed.elsewhere,
        together=joint_in_words(climbed),
        key=_key(),
        whose=WHOSE_THRESHOLDS,
        sure=f"{100.0 * desk.app.training.setting('ladder_sure'):g}",
    )


def _shown(one: ClimbedRung, climbed: Climbed, desk: Desk) -> RungShown:
    catalogue, training = desk.app.catalogue, desk.app.training
    return RungShown(
        one=one,
        words=STANDING_WORDS[one.standing],
        signs=signs_in_words(one, catalogue),
        chance=chance_in_words(one, catalogue),
        said=said_in_words(one, training),
        missing=missing_in_words(one, climbed, catalogue=catalogue, training=training),
        open=open_in_words(one, catalogue),
        clear=clear_in_words(one, catalogue),
        meanwhile={id: training.exercises[id].title for id in one.meanwhile},
        now=one.standing not in ("had", "barred") and not one.judged.first,
    )


@router.post("/gymnasts/{gymnast_id}/ladder/has")
def say_has(
    desk: AtDesk,
    coach: Coach,
    gymnast_id: PathId,
    rung: RungName,
    *,
    reached_on: Annotated[str, Form(max_length=20)] = "",
    token: Token = "",
) -> Response:
    """Keep that she has a rung, since today where no day is said."""
    today = desk.today()
    her = desk.app.her_ladder().say(
        gymnast_id,
        rung,
        reached_on=read_day(reached_on, of="the day") or today,
        today=today,
        author=coach,
        token=token or None,
    )
    title = desk.app.training.rungs[rung].title
    return go_to(f"/gymnasts/{gymnast_id}/ladder#{rung}", f"{her.name} has “{title}”.")


@router.post("/gymnasts/{gymnast_id}/ladder/take-back")
def take_back(desk: AtDesk, gymnast_id: PathId, rung: RungName, token: Token = "") -> Response:
    """Say that she has a rung no more."""
    desk.app.her_ladder().take_back(gymnast_id, rung, token=token or None)
    entry = desk.app.training.rungs.get(rung)
    title = rung if entry is None else entry.title
    place = "" if entry is None else f"#{rung}"
    return go_to(f"/gymnasts/{gymnast_id}/ladder{place}", f"Taken back: “{title}”.")
