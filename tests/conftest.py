"""Its place puts this folder on the import path: helpers that several folders use stand here.

Random examples are the same at every run.
"""

import os
import shutil
from collections.abc import Iterator, Mapping
from pathlib import Path
from uuid import uuid4

import pytest
from fastapi import routing
from hypothesis import settings
from sqlalchemy import Engine

from chordline.adapters.db import records
from chordline.adapters.db.migrate import upgrade
from chordline.application.findings import Findings
from chordline.application.forecast.forecast_line import ForecastLine
from chordline.application.forecast.told import LineForecast

settings.register_profile("repeatable", derandomize=True, deadline=None)
settings.load_profile("repeatable")


@pytest.fixture(scope="session", autouse=True)
def ready_made_records(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Begin new SQLite records as a copy: ten migrations take longer than most tests.

    The copied file was made by the migrations. What is there already, and PostgreSQL, is upgraded.
    """
    made = tmp_path_factory.mktemp("ready_made") / "records.sqlite"

    def upgrade_or_copy(engine: Engine) -> None:
        path = Path(engine.url.database or "")
        if engine.dialect.name == "sqlite" and not path.exists():
            if not made.exists():
                first = records.make_engine(f"sqlite:///{made}")
                upgrade(first)
                first.dispose()
            part = path.with_name(f"{path.name}.{uuid4().hex}.part")
            shutil.copyfile(made, part)
            try:
                os.link(part, path)
            except FileExistsError:
                pass  # another was quicker
            finally:
                part.unlink()
        upgrade(engine)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(records, "upgrade", upgrade_or_copy)
        yield


@pytest.fixture(scope="session", autouse=True)
def routes_worked_out_once() -> Iterator[None]:
    """Let all sites of a process share what FastAPI works out of a route: it is the same in each.

    Working it out takes a quarter of a second a site, and hundreds of tests have a site of their
    own. What is kept under a route's `id` holds the route, so that no other one gets its `id`.
    """
    included = routing._IncludedRouter
    work_out = included._build_effective_context
    known: dict[tuple[object, ...], tuple[object, object]] = {}

    def look_up(self: routing._IncludedRouter, route: routing.BaseRoute) -> object:
        where = self.include_context
        stands_before = tuple(one.dependency for one in where.dependencies)
        key = (id(route), where.prefix, where.include_in_schema, stands_before)
        if key not in known:
            known[key] = route, work_out(self, route)
        return known[key][1]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(included, "_build_effective_context", look_up)
        yield


@pytest.fixture(scope="session", autouse=True)
def forecasts_made_once() -> Iterator[None]:
    """Let all tests of a process share a forecast of the same belief: it is the same each time.

    Making one takes a quarter of a second, and the tests' clubs have the same few screens.
    """
    make = ForecastLine.__call__
    known: dict[tuple[object, ...], tuple[tuple[object, ...], LineForecast | None]] = {}

    def look_up(
        self: ForecastLine, found: Findings, *, gains: Mapping[str, float] | None = None
    ) -> LineForecast | None:
        belief = found.belief
        key = (
            self.missing(found),
            belief.states,
            belief.mean.tobytes(),
            belief.covariance.tobytes(),
            tuple(sorted((gains or {}).items())),
        )
        tables = (self._catalogue, self._segments)
        if key not in known or known[key][0] != tables:
            known[key] = tables, make(self, found, gains=gains)
        return known[key][1]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(ForecastLine, "__call__", look_up)
        yield
