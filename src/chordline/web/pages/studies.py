"""How well do we measure: studies of marks and takes, and the club's own errors."""

import logging
import secrets
from typing import Annotated, Any
from urllib.parse import quote, urlencode

from fastapi import APIRouter, Form, Query, Request
from starlette.background import BackgroundTask
from starlette.responses import RedirectResponse, Response

from chordline.application.repeatability.mark_study import (
    FEWEST_PHOTOS,
    MINUTES_A_PHOTO,
    USUAL_PHOTOS,
)
from chordline.application.repeatability.study_results import read_results
from chordline.application.repeatability.study_words import (
    TAKES_ASSUME,
    minutes_in_words,
    progress_in_words,
    takes_wanted,
)
from chordline.application.repeatability.takes import FIRST_TEST
from chordline.application.repeatability.use_noise import Known
from chordline.application.roster.match import all_gymnasts
from chordline.errors import ChordlineError, RefusedInputError
from chordline.web.desk import COACH_COOKIE, SOMEBODY, AtDesk, Coach, Desk
from chordline.web.forms import go_to
from chordline.web.ids import PathId, QueryId
from chordline.web.photo_scene import editor_options
from chordline.web.rendering import render
from chordline.web.study_view import show_errors, show_measures, show_takes

router = APIRouter()
_log = logging.getLogger(__name__)

#: How many photos are offered.
_SIZES = (USUAL_PHOTOS, 20, 30)
_A_YEAR_S = 365 * 24 * 3600

Names = Annotated[list[str], Query(max_length=50)]


@router.get("/studies")
def show_studies(request: Request, desk: AtDesk) -> Response:
    """Show the studies, what there is of takes, and the errors in use."""
    app, club = desk.app, desk.club
    known = app.use_noise().tell_latest(club.id)
    study_id = None if known.results is None else known.results.study.id
    with app.records.reading() as tx:
        studies = [
            read_results(tx, one.id, app.default_catalogue) for one in tx.studies.all(club.id)
        ]
    return render(
        request,
        "studies.html",
        here="settings",
        studies=studies,
        progress_in_words=progress_in_words,
        photos_there=len(app.mark_study().choices(club.id)),
        fewest=FEWEST_PHOTOS,
        sizes=[(size, minutes_in_words(size * MINUTES_A_PHOTO)) for size in _SIZES],
        usual=USUAL_PHOTOS,
        takes=show_takes(known.takes),
        takes_wanted=takes_wanted(known.takes, first=FIRST_TEST),
        takes_assume=TAKES_ASSUME,
        **_errors(desk, known, study_id),
    )


@router.post("/studies")
def begin_study(
    desk: AtDesk,
    coach: Coach,
    photos: Annotated[int, Form()] = USUAL_PHOTOS,
    twice: Annotated[bool, Form()] = False,
    token: Annotated[str, Form(max_length=100)] = "",
) -> Response:
    """Begin a study of marks."""
    if token:
        with desk.app.records.transaction() as tx:
            if not tx.first_time(token):
                return go_to("/studies")
    study = desk.app.mark_study().begin(
        desk.club.id, count=photos, twice=twice, seed=secrets.randbelow(2**31), author=coach
    )
    return go_to(f"/studies/{study.id}", "The photos are picked. Say who marks, and begin.")


@router.post("/studies/errors")
def use_errors(
    desk: AtDesk,
    coach: Coach,
    study: Annotated[QueryId, Form()] = None,
    without: Annotated[list[str], Form()] = [],  # noqa: B006 - read by FastAPI, never changed
) -> Response:
    """Use the club's own errors from now on."""
    desk.app.use_noise().use(desk.club.id, study, author=coach, without=without)
    return _judged_anew(desk, "Your own errors are in use now. Findings are judged anew.")


@router.post("/studies/defaults")
def use_defaults(desk: AtDesk) -> Response:
    """Go back to our defaults."""
    desk.app.use_noise().go_back(desk.club.id)
    return _judged_anew(desk, "The defaults are in use now. Findings are judged anew.")


@router.get("/studies/{study_id}")
def show_study(
    request: Request,
    study_id: PathId,
    desk: AtDesk,
    coach: Coach,
    without: Names = [],  # noqa: B006
) -> Response:
    """Show how far a study is and what it says."""
    known = desk.app.use_noise().tell(desk.club.id, study_id, without=without)
    results = known.results
    assert results is not None
    total = len(results.study.photos) * (2 if results.study.twice else 1)
    measures = show_measures(results)
    return render(
        request,
        "study.html",
        here="settings",
        results=results,
        study=results.study,
        coach="" if coach == SOMEBODY else coach,
        minutes=minutes_in_words(total * MINUTES_A_PHOTO),
        total=total,
        progress_in_words=progress_in_words,
        joints=[one for one in measures if one.joint],
        others=[one for one in measures if not one.joint],
        **_errors(desk, known, study_id),
    )


@router.post("/studies/{study_id}/join")
def join_study(
    study_id: PathId, desk: AtDesk, name: Annotated[str, Form(max_length=300)] = ""
) -> Response:
    """Let a coach mark; this device carries her name from now on."""
    coach = desk.app.mark_study().join(study_id, name)
    answer = go_to(f"/studies/{study_id}/mark")
    answer.set_cookie(
        COACH_COOKIE, quote(coach), max_age=_A_YEAR_S, httponly=True, samesite="strict"
    )
    return answer


@router.post("/studies/{study_id}/out")
def remove_study(study_id: PathId, desk: AtDesk) -> Response:
    """Remove a study with all that was marked in it."""
    with desk.app.records.transaction() as tx:
        tx.studies.remove(study_id)
    return go_to("/studies", "The study is out, with everything that was marked in it.")


@router.get("/studies/{study_id}/mark")
def show_next(request: Request, study_id: PathId, desk: AtDesk, coach: Coach) -> Response:
    """Show the next photo that a coach is to mark, without a mark on it."""
    with desk.app.records.reading() as tx:
        tx.studies.get(study_id)
        hers = [one for one in tx.studies.tasks(study_id) if one.coach == coach]
    if not hers:
        return go_to(f"/studies/{study_id}", "Say first who marks.")
    task = desk.app.mark_study().next_task(study_id, coach)
    if task is None:
        return go_to(f"/studies/{study_id}", f"Thank you, {coach}: every photo is marked.")
    with desk.app.records.reading() as tx:
        view = tx.photos.view(task.photo_id)
    test = desk.app.catalogue.tests.get(view.photo.test or "")
    if test is None or view.measurement is None:
        raise RefusedInputError("this photo is being filed anew; come back when it is measured")
    options = editor_options(desk, view, view.photo.test or "")
    return render(
        request,
        "study_mark.html",
        here="settings",
        study_id=study_id,
        coach=coach,
        done=sum(one.done_at is not None for one in hers),
        total=len(hers),
        title=test.title,
        data={"study": study_id, "task": task.id, "editor": _blind(options)},
    )


def _blind(options: dict[str, Any]) -> dict[str, Any]:
    """Return what the editor is mounted with, without anything that was ever marked or measured."""
    hidden = {**options["test"], "measures": [], "judged": {}}
    kept = {name: options[name] for name in ("photoUrl", "photo", "nearSide", "front", "words")}
    sd_px = options["handSdPx"]
    return {**kept, "test": hidden, "landmarks": {}, "version": 0, "handSdPx": sd_px}


def _errors(desk: Desk, known: Known, study_id: int | None) -> dict[str, Any]:
    catalogue = desk.app.default_catalogue
    left_out = known.proposed.without
    return {
        "errors": show_errors(known.proposed.errors, catalogue),
        "in_use": known.in_use,
        "already_used": known.already_used,
        "used_study": study_id,
        "left_out": left_out,
        "query": urlencode([("without", name) for name in left_out]),
    }


def _judged_anew(desk: Desk, said: str) -> RedirectResponse:
    answer = go_to("/studies#errors", said)
    answer.background = BackgroundTask(_judge_everybody, desk)
    return answer


def _judge_everybody(desk: Desk) -> None:
    """Judge everybody's latest screen; whose page is opened first is judged there."""
    app = desk.app
    with app.records.reading() as tx:
        ids = [row.gymnast.id for row in all_gymnasts(tx, desk.club.id)]
    for gymnast_id in ids:
        try:
            app.judge_screen.latest_of(gymnast_id)
        except ChordlineError as error:
            _log.warning("judging gymnast %d anew: %s", gymnast_id, error)
