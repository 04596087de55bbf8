"""The site: pages, JSON interface, worker and door put together."""

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

from fastapi import FastAPI
from starlette.middleware.gzip import GZipMiddleware

from chordline import __version__
from chordline.bootstrap import App
from chordline.web.api import exercises as exercises_api
from chordline.web.api import forecast, gymnasts, photos, planning, progress, screens
from chordline.web.api import ladder as ladder_api
from chordline.web.api import live as live_api
from chordline.web.api import studies as studies_api
from chordline.web.desk import Desk
from chordline.web.door import Door, DoorMiddleware
from chordline.web.measuring import Measuring
from chordline.web.pages import (
    exercises,
    gymnast,
    ladder,
    look,
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
)
from chordline.web.pages import live as live_pages
from chordline.web.pages import progress as progress_pages
from chordline.web.planning import Planning
from chordline.web.problems import add_problems
from chordline.web.rendering import STATICS
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
    studies,
)
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
    measuring = Measuring(app.work_off)
    plans = Planning(app.make_plan)
    warming = Warming(app.records, lambda: app.her_progress, club_id=lambda: app.club().id)

    @asynccontextmanager
    async def lifespan(_: FastAPI) -> AsyncIterator[None]:
        app.club()
        with app.records.transaction() as tx:
            # One server has these records: whoever was measuring is gone.
            tx.jobs.give_back()
        if measure:
            measuring.start()
            warming.start()
        yield
        warming.stop()
        plans.stop_all()
        measuring.stop()

    site = FastAPI(
        title="chordline",
        version=__version__,
        description="The actions of chordline's pages. Everything stays on this machine.",
        lifespan=lifespan,
        openapi_url="/api/openapi.json",
        docs_url=None,
        redoc_url=None,
        redirect_slashes=False,
        swagger_ui_oauth2_redirect_url=None,
    )
    site.state.desk = Desk(app, measuring, plans)
    add_problems(site)
    for module in (*_PAGES, *_PROGRESS, *_LIVE, *_TRAINING):
        site.include_router(module.router, include_in_schema=False)
    for module in _API:
        site.include_router(module.router, prefix="/api")
    # Where a page has no head of its own, such as a PDF, the browser asks for this.
    site.add_route("/favicon.ico", STATICS.serve_mark, include_in_schema=False)
    site.add_route("/static/{version}/{path:path}", STATICS.serve, include_in_schema=False)
    site.add_middleware(GZipMiddleware, minimum_size=1000, compresslevel=5)
    site.add_middleware(DoorMiddleware, door=door or Door())
    return site
