"""A group's plan: made, watched, stopped, asked otherwise, and shown."""

from dataclasses import dataclass, replace
from datetime import date
from typing import Annotated

from fastapi import APIRouter, Form, Query, Request
from starlette.responses import HTMLResponse, Response

from chordline.application.days import day_in_words
from chordline.application.progress.retest_calendar import days_in_words
from chordline.application.training.members import Member, find_group, read_members
from chordline.application.training.plan_wish import PlanWish, WishedTurn
from chordline.application.training.planned import read_plan
from chordline.application.training.records import PlanRecord
from chordline.application.training.replan import standing_wish
from chordline.errors import RefusedInputError
from chordline.web.desk import AtDesk, Coach, Desk
from chordline.web.forms import go_to, read_day, read_number
from chordline.web.ids import PathId, read_id
from chordline.web.pages.training import how_in_words
from chordline.web.plan_view import show_plan
from chordline.web.rendering import render

router = APIRouter()


@dataclass(frozen=True)
class WishShown:
    """One thing that the coach asked for: what kind, in words, and its place among its kind."""

    kind: str
    place: int
    words: str


@router.get("/groups/{group_id}/plan")
def show_group_plan(
    request: Request,
    desk: AtDesk,
    group_id: PathId,
    week: Annotated[int | None, Query(ge=1, le=99)] = None,
) -> HTMLResponse:
    """Show a group's plan."""
    today = desk.today()
    with desk.app.records.reading() as tx:
        group = find_group(tx, group_id)
        training = tx.training.group(group_id)
        members = read_members(tx, group, today=today, catalogue=desk.app.catalogue)
        kept = next(iter(tx.training.plans(group_id, limit=1)), None)
    making = desk.planning.state(group_id)
    names = {one.id: one.gymnast.name for one in members}
    shown = None
    if kept is not None:
        plan = read_plan(kept.record)
        shown = show_plan(
            plan,
            week=week or plan.week_of(today) + 1,
            names=names,
            catalogue=desk.app.catalogue,
            training=desk.app.training,
        )
    if making is not None and not making.busy:
        desk.planning.forget(group_id)
    return render(
        request,
        "plan.html",
        here="training",
        group=group,
        kept=kept,
        shown=shown,
        making=making,
        how=how_in_words(training),
        how_said=training.version > 0,
        members=members,
        unscreened=[one.gymnast for one in members if one.findings is None],
        signs=_signs(desk, members),
        wishes=_wishes(desk, kept, names),
        exercises=desk.app.training.exercises,
        weeks=int(desk.app.training.setting("weeks")) if kept is None else kept.record["weeks"],
    )


def _signs(desk: Desk, members: tuple[Member, ...]) -> list[tuple[str, int, str]]:
    """Return whose work is barred by a reported sign: name, id, and the sign."""
    referrals = desk.app.catalogue.referrals
    return [
        (one.gymnast.name, one.id, referrals[sign].label)
        for one in members
        for sign in one.signs
        if sign in referrals
    ]


def _wishes(desk: Desk, kept: PlanRecord | None, names: dict[int, str]) -> list[WishShown]:
    today = desk.today()
    wish = standing_wish(kept, first_day=today, author="", today=today, training=desk.app.training)
    shown = []
    for kind, turns, said, always in (
        ("pin", wish.pins, "does", "every week"),
        ("exclusion", wish.exclusions, "does not do", "at all"),
    ):
        for place, turn in enumerate(turns):
            who = "Everybody" if turn.gymnast is None else names.get(turn.gymnast, "Somebody")
            entry = desk.app.training.exercises.get(turn.exercise)
            what = turn.exercise if entry is None else entry.title
            when = always if turn.day is None else f"on {day_in_words(turn.day)}"
            shown.append(WishShown(kind, place, f"{who} {said} “{what}” {when}."))
    for place, (day, away) in enumerate(sorted(wish.absences.items())):
        listed = ", ".join(names.get(her, "somebody") for her in sorted(away))
        shown.append(WishShown("away", place, f"Away on {day_in_words(day)}: {listed}."))
    return shown


def _standing_wish(
    desk: Desk, group_id: int, *, author: str, first_day: date | None = None
) -> PlanWish:
    """Return what is wished from a day on, today where none is named."""
    today = desk.today()
    return desk.app.replan().wish(
        group_id, first_day=first_day or today, author=author, today=today
    )


@router.post("/groups/{group_id}/plan")
def make_plan(
    desk: AtDesk,
    coach: Coach,
    group_id: PathId,
    weeks: Annotated[str, Form(max_length=4)] = "",
    first_day: Annotated[str, Form(max_length=10)] = "",
    token: Annotated[str, Form(max_length=64)] = "",
) -> Response:
    """Make a plan from a day on; what was pinned and excluded stays."""
    begins = read_day(first_day, of="first day")
    wish = _standing_wish(desk, group_id, author=coach, first_day=begins)
    return _begin(
        desk,
        group_id,
        replace(
            wish,
            weeks=int(read_number(weeks, of="weeks", whole=True) or wish.weeks),
            token=token or None,
        ),
    )


@router.post("/groups/{group_id}/plan/stop")
def stop_plan(desk: AtDesk, group_id: PathId) -> Response:
    """Stop the plan that is being made."""
    desk.planning.stop(group_id)
    return go_to(f"/groups/{group_id}/plan")


@router.post("/groups/{group_id}/plan/wishes")
def add_wish(
    desk: AtDesk,
    coach: Coach,
    group_id: PathId,
    *,
    what: Annotated[str, Form(max_length=12)] = "",
    exercise: Annotated[str, Form(max_length=80)] = "",
    gymnast: Annotated[str, Form(max_length=12)] = "",
    day: Annotated[str, Form(max_length=10)] = "",
) -> Response:
    """Pin an exercise, exclude one, or say that somebody is away; then plan again from today."""
    wish = _standing_wish(desk, group_id, author=coach)
    her, on = read_id(gymnast), read_day(day, of="day")
    if what == "away":
        if her is None or on is None:
            raise RefusedInputError("say who is away, and on which day")
        absences = {**wish.absences, on: wish.absences.get(on, frozenset()) | {her}}
        return _begin(desk, group_id, replace(wish, absences=absences))
    if exercise not in desk.app.training.exercises:
        raise RefusedInputError("choose an exercise of the list")
    turn = WishedTurn(exercise, her, on)
    if what == "pin":
        return _begin(desk, group_id, replace(wish, pins=_with(wish.pins, turn)))
    if what == "exclusion":
        return _begin(desk, group_id, replace(wish, exclusions=_with(wish.exclusions, turn)))
    raise RefusedInputError("say whether the exercise is wanted or not wanted")


def _with(turns: tuple[WishedTurn, ...], turn: WishedTurn) -> tuple[WishedTurn, ...]:
    return turns if turn in turns else (*turns, turn)


@router.post("/groups/{group_id}/plan/wishes/{kind}/{place}/remove")
def take_wish_back(
    desk: AtDesk,
    coach: Coach,
    group_id: PathId,
    kind: str,
    place: int,
    words: Annotated[str, Form(max_length=400)] = "",
) -> Response:
    """Take something back that was asked for, and plan again from today.

    `words` is what the page showed: the list may have changed meanwhile.
    """
    today = desk.today()
    with desk.app.records.reading() as tx:
        group = find_group(tx, group_id)
        members = read_members(tx, group, today=today, catalogue=desk.app.catalogue)
        kept = next(iter(tx.training.plans(group_id, limit=1)), None)
    names = {one.id: one.gymnast.name for one in members}
    shown = _wishes(desk, kept, names)
    if WishShown(kind, place, words) not in shown:
        return go_to(f"/groups/{group_id}/plan", "This was taken back already.")
    wish = _standing_wish(desk, group_id, author=coach)
    if kind == "pin":
        wish = replace(wish, pins=_without(wish.pins, place))
    elif kind == "exclusion":
        wish = replace(wish, exclusions=_without(wish.exclusions, place))
    else:
        days = sorted(wish.absences)
        wish = replace(
            wish, absences={day: wish.absences[day] for day in days if day != days[place]}
        )
    return _begin(desk, group_id, wish)


def _without(turns: tuple[WishedTurn, ...], place: int) -> tuple[WishedTurn, ...]:
    return (*turns[:place], *turns[place + 1 :])


def _begin(desk: Desk, group_id: int, wish: PlanWish) -> Response:
    desk.planning.begin(group_id, wish)
    return go_to(f"/groups/{group_id}/plan#making")


@router.get("/groups/{group_id}/calendar.ics")
def give_calendar(desk: AtDesk, group_id: PathId) -> Response:
    """Return the sessions that are planned as a calendar; no child is named in it."""
    today = desk.today()
    found = desk.app.squad_progress.everybody(desk.club.id, today=today, group_id=group_id)
    content = desk.app.make_calendar()(
        group_id, today=today, retests=days_in_words(found.retests, today=today)
    )
    headers = {"Content-Disposition": 'attachment; filename="sessions.ics"'}
    return Response(content, media_type="text/calendar; charset=utf-8", headers=headers)
