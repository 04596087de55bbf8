"""The site: pages, JSON interface, worker and door put together."""

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

from fastapi import Depends, FastAPI
from starlette.middleware.gzip import GZipMiddleware

from chordline import __version__
from chordline.bootstrap import App
from chordline.web.access import AccessPlan
from chordline.web.api import backing_up as backing_up_api
from chordline.web.api import exercises as exercises_api
from chordline.web.api import forecast, gymnasts, photos, planning, progress, screens
from chordline.web.api import ladder as ladder_api
from chordline.web.api import live as live_api
from chordline.web.api import studies as studies_api
from chordline.web.api import videos as videos_api
from chordline.web.backing_up import BackingUp
from chordline.web.body_limit import BodyLimitMiddleware
from chordline.web.consents import Consents
from chordline.web.description import describe_refusals
from chordline.web.desk import Desk
from chordline.web.door import Door, DoorMiddleware
from chordline.web.form_files import keep_form_files_sealed
from chordline.web.gate import Gate, check_form_key
from chordline.web.measuring import Measuring
from chordline.web.pages import (
    account,
    accounts,
    backup,
    exercises,
    gymnast,
    ladder,
    login,
    look,
    pair,
    photo,
    plan,
    roster,
    screen,
    screening,
    settings,
    sheets,
    squad,
    studies,
    today,
    tonight,
    training,
    training_sheets,
    unlock,
    videos,
)
from chordline.web.pages import live as live_pages
from chordline.web.pages import progress as progress_pages
from chordline.web.pages import trail as trail_pages
from chordline.web.planning import Planning
from chordline.web.problems import add_problems
from chordline.web.receipts import Receipts
from chordline.web.rendering import STATICS
from chordline.web.sealing import Sealing
from chordline.web.sessions import Turns
from chordline.web.trail_buffer import TrailBuffer
from chordline.web.unlock_tries import UnlockTries
from chordline.web.warming import Warming

_PAGES = (
    today,
    screening,
    look,
    photo,
    squad,
    gymnast,
    ladder,
    screen,
    sheets,
    roster,
    settings,
    backup,
    studies,
    unlock,
    videos,
)
_ACCOUNTS = (login, account, pair, accounts, trail_pages)
_PROGRESS = (progress_pages,)
_LIVE = (live_pages,)
_TRAINING = (training, exercises, plan, tonight, training_sheets)
_API = (
    gymnasts,
    photos,
    screens,
    forecast,
    progress,
    ladder_api,
    planning,
    exercises_api,
    studies_api,
    live_api,
    backing_up_api,
    videos_api,
)


def make_site(app: App, *, door: Door | None = None, measure: bool = True) -> FastAPI:
    """Return the site.

    Parameters
    ----------
    app : App
    door : Door, optional
        Who may come in; this machine alone where not given.
    measure : bool
        Whether to measure what waits while the site is up.
    """
    keep_form_files_sealed()
    # Whoever is at a page unlocks there; a question at the terminal would hold the pages up.
    app.vault.stop_asking()
    measuring = Measuring(app.work_off, app.running_videos.stop_all)
    sealing = Sealing(app)
    plans = Planning(app.make_plan)
    trail = TrailBuffer(lambda: app.records, app.come_in.now)
    consents = Consents(app)
    backing_up = BackingUp(app)
    warming = Warming(app.records, lambda: app.her_progress, club_id=lambda: app.club().id)

    @asynccontextmanager
    async def lifespan(_: FastAPI) -> AsyncIterator[None]:
        app.club()
        with app.records.transaction() as tx:
            # One server has these records: whoever was measuring is gone.
            tx.jobs.give_back()
        trail.start()
        if measure:
            measuring.start()
            sealing.start()
            consents.start()
            backing_up.start()
            warming.start()
        yield
        warming.stop()
        backing_up.stop()
        plans.stop_all()
        consents.stop()
        sealing.stop()
        measuring.stop()
        app.vault.lock()
        trail.stop()

    site = FastAPI(
        title="chordline",
        version=__version__,
        description="The actions of chordline's pages. Everything stays on this machine.",
        lifespan=lifespan,
        openapi_url="/api/openapi.json",
        docs_url=None,
        redoc_url=None,
        dependencies=[Depends(check_form_key)],
        redirect_slashes=False,
        swagger_ui_oauth2_redirect_url=None,
    )
    site.state.desk = Desk(app, measuring, plans)
    site.state.unlock_tries = UnlockTries()
    site.state.backing_up = backing_up
    site.state.receipts = Receipts()
    add_problems(site)
    describe_refusals(site)
    for module in (*_PAGES, *_PROGRESS, *_LIVE, *_TRAINING, *_ACCOUNTS):
        site.include_router(module.router, include_in_schema=False)
    for module in _API:
        site.include_router(module.router, prefix="/api")
    # Where a page has no head of its own, such as a PDF, the browser asks for this.
    site.add_route("/favicon.ico", STATICS.serve_mark, include_in_schema=False)
    site.add_route("/static/{version}/{path:path}", STATICS.serve, include_in_schema=False)
    site.add_middleware(GZipMiddleware, minimum_size=1000, compresslevel=5)
    site.add_middleware(BodyLimitMiddleware)
    door = door or Door()
    site.state.door = door
    plan = AccessPlan(site.routes)
    site.state.access = plan
    site.state.trail = trail
    site.add_middleware(Gate, door=door, plan=plan, trail=trail, turns=Turns())
    site.add_middleware(DoorMiddleware, door=door)
    return site
