"""Tonight: who came, who works where, the timer, and what was done."""

from collections import defaultdict
from collections.abc import Sequence
from datetime import date
from typing import Annotated

from fastapi import APIRouter, Form, Query, Request
from starlette.responses import HTMLResponse, Response

from chordline.application.days import day_in_words
from chordline.application.training.deal import exercises_of
from chordline.application.training.evening_json import rounds_of
from chordline.application.training.members import find_group
from chordline.application.training.planned import read_evening, read_stations, sessions_that_hold
from chordline.application.training.records import SessionRecord, WorkRecord
from chordline.application.training.tonight import Evening
from chordline.errors import RefusedInputError
from chordline.web.desk import AtDesk, Coach, Desk
from chordline.web.evening_view import show_rounds
from chordline.web.forms import go_to, read_day
from chordline.web.ids import FormId, PathId, read_id
from chordline.web.rendering import render

router = APIRouter()

#: What she did of a turn, as a coach says it at the mat.
SHARES = {"1": "all of it", "0.5": "a part", "0": "not done"}


@router.get("/groups/{group_id}/tonight")
def show_tonight(
    request: Request,
    desk: AtDesk,
    group_id: PathId,
    on: Annotated[str, Query(max_length=10)] = "",
) -> HTMLResponse:
    """Show a group's session of a day; today's where none is named."""
    day = read_day(on, of="day") or desk.today()
    evening = desk.app.tonight().look(group_id, day)
    if evening is None:
        return _not_opened(request, desk, group_id, day)
    record = evening.session.record
    names = {one.id: one.gymnast.name for one in evening.members}
    with desk.app.records.reading() as tx:
        done = tx.training.work_of_session(evening.session.id)
    training = desk.app.training
    return render(
        request,
        "tonight.html",
        here="training",
        group=evening.group,
        evening=evening,
        day=day,
        minutes=record["warm_up_min"],
        begun=0 if record["round"] is None else record["round"] + 1,
        rounds=show_rounds(
            read_evening(record), read_stations(record), names=names, training=training
        ),
        held_back=[
            (names[one["gymnast"]], training.exercises[one["exercise"]].title)
            for one in record["held_back"]
            if one["gymnast"] in names and one["exercise"] in training.exercises
        ],
        done=_done_shown(evening, done, desk),
        shares=SHARES,
        is_today=day == desk.today(),
    )


def _not_opened(request: Request, desk: Desk, group_id: int, day: date) -> HTMLResponse:
    with desk.app.records.reading() as tx:
        group = find_group(tx, group_id)
        plan = tx.training.plan_holding(group_id, day)
        days = [one.held_on for one in sessions_that_hold(tx.training.plans(group_id))]
        held = tx.training.sessions(group_id, last=desk.today())[-6:]
    return render(
        request,
        "tonight_closed.html",
        here="training",
        group=group,
        day=day,
        has_plan=plan is not None,
        planned=day in days,
        following=[one for one in days if one >= desk.today()][:6],
        held=[one.held_on for one in reversed(held)],
    )


def _done_shown(
    evening: Evening, done: Sequence[WorkRecord], desk: Desk
) -> list[tuple[int, str, list[tuple[str, str, str]]]]:
    """Return, by gymnast who was there: id, name, and (exercise, title, share) of her turns."""
    said = {(one.gymnast_id, one.exercise): one.share for one in done}
    unsaid = _unsaid_share(evening.session)
    hers = defaultdict(list, {her: list(turns) for her, turns in _turns_of(evening).items()})
    for gymnast_id, exercise in said:
        if exercise not in hers[gymnast_id]:
            hers[gymnast_id].append(exercise)
    exercises = desk.app.training.exercises
    return [
        (
            one.id,
            one.gymnast.name,
            [
                (
                    key,
                    exercises[key].title if key in exercises else key,
                    _share_key(said.get((one.id, key), unsaid)),
                )
                for key in dict.fromkeys(hers[one.id])
            ],
        )
        for one in evening.members
        if one.id in evening.present
    ]


def _turns_of(evening: Evening) -> dict[int, tuple[str, ...]]:
    return dict(exercises_of(rounds_of(evening.session.record)))


def _unsaid_share(session: SessionRecord) -> float:
    """Return what counts as done where nobody said it: in the end only what was kept."""
    return 0.0 if session.state == "ended" else 1.0


def _share_key(share: float) -> str:
    """Return the word that is nearest to a share."""
    return min(SHARES, key=lambda one: abs(float(one) - share))


@router.post("/groups/{group_id}/tonight")
def open_tonight(
    desk: AtDesk, group_id: PathId, on: Annotated[str, Form(max_length=10)] = ""
) -> Response:
    """Open the session of a day."""
    day = read_day(on, of="day") or desk.today()
    desk.app.tonight().open(group_id, day)
    return _back(group_id, day)


@router.post("/groups/{group_id}/sessions/{session_id}/attendance")
def keep_attendance(
    desk: AtDesk,
    group_id: PathId,
    session_id: PathId,
    listed: Annotated[Sequence[FormId], Form()] = (),
    was: Annotated[Sequence[FormId], Form()] = (),
    here: Annotated[Sequence[FormId], Form()] = (),
    begun: Annotated[int | None, Form(ge=0, le=99)] = None,
) -> Response:
    """Keep who of those listed is here; the rounds that have not begun are dealt anew.

    `was`: who was shown as here. Only what differs is marked, so that two who tick at once do not
    undo each other.
    """
    came, shown = frozenset(here), frozenset(was)
    evening = desk.app.tonight().mark(
        session_id,
        {her: her in came for her in listed if (her in came) != (her in shown)},
        begun=begun,
    )
    there = len(evening.present)
    away = len(evening.members) - there
    said = "Everybody is here." if not away else f"{there} here, {away} not."
    return _back(group_id, evening.session.held_on, f"{said} The stations are dealt for them.")


@router.post("/groups/{group_id}/sessions/{session_id}/end")
def end_session(
    desk: AtDesk,
    coach: Coach,
    group_id: PathId,
    session_id: PathId,
    version: Annotated[int, Form(ge=0)] = 0,
    rounds: Annotated[int | None, Form(ge=0, le=99)] = None,
) -> Response:
    """End a session: who was there did what was planned, unless something else was said.

    `rounds`: how many there were; all of them if unset.
    """
    evening = desk.app.tonight().end(session_id, version=version, author=coach, rounds=rounds)
    return _back(
        group_id,
        evening.session.held_on,
        "The session is kept. Say below what was different; the next plan counts with it.",
    )


@router.post("/groups/{group_id}/sessions/{session_id}/done")
async def keep_done(
    request: Request, desk: AtDesk, coach: Coach, group_id: PathId, session_id: PathId
) -> Response:
    """Keep what gymnasts did: fields ``<gymnast>/<exercise>`` with a share.

    What is left as it was shown is not said: before the end its turn may still be dealt anew.
    """
    form = await request.form()
    with desk.app.records.reading() as tx:
        session = tx.training.session(session_id)
        done = tx.training.work_of_session(session_id)
    said = {(one.gymnast_id, one.exercise): one.share for one in done}
    unsaid = _unsaid_share(session)
    keep = desk.app.keep_done()
    for key, share in form.items():
        who, _, exercise = key.partition("/")
        her = read_id(who)
        if her is None or str(share) not in SHARES:
            continue
        if str(share) != _share_key(said.get((her, exercise), unsaid)):
            keep.mark(session_id, her, exercise=exercise, share=float(str(share)), author=coach)
    return _back(group_id, session.held_on, "What was done is kept.")


def _back(group_id: int, day: date, said: str = "") -> Response:
    return go_to(f"/groups/{group_id}/tonight?on={day.isoformat()}", said)


@router.get("/groups/{group_id}/timer")
def show_timer(
    request: Request,
    desk: AtDesk,
    group_id: PathId,
    on: Annotated[str, Query(max_length=10)] = "",
) -> HTMLResponse:
    """Show the timer of a session that was opened."""
    day = read_day(on, of="day") or desk.today()
    evening = desk.app.tonight().look(group_id, day)
    if evening is None:
        raise RefusedInputError(
            f"no session is open on {day_in_words(day)}; open it first under Training"
        )
    record = evening.session.record
    if not record["rounds"]:
        raise RefusedInputError("this session has no rounds; plan again")
    names = {one.id: one.gymnast.name for one in evening.members}
    read = read_evening(record)
    return render(
        request,
        "timer.html",
        here="training",
        group=evening.group,
        held_on=day,
        rounds=show_rounds(read, read_stations(record), names=names, training=desk.app.training),
        warm_up_min=read.warm_up_min,
        round_min=read.round_min,
        timing={
            "session_id": evening.session.id,
            "warm_up_min": read.warm_up_min,
            "round_min": read.round_min,
        },
    )
