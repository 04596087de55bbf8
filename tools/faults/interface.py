"""The JSON interface, asked for everything that its own description allows and more.

A club of the demo's gymnasts and photos lies in a temporary folder; the site runs in this process.
No answer may be a fault of the server (5xx), and each must be as the description says.
"""

import json
import random
import tempfile
import time
import traceback
import warnings
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from typing import Any

import schemathesis
from hypothesis import HealthCheck, Phase, given, seed, settings
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_schema_conformance,
)
from starlette.testclient import TestClient

from chordline.application.headway import Silent
from chordline.bootstrap import App
from chordline.cli.demo import _found_club, _lay_out
from chordline.cli.take_in import AUTHOR
from chordline.web.site import make_site
from faults.attempt import MOST_S, keep, peak_mb
from faults.mutate import damage_json
from faults.row import Budget, Row

#: Requests for each operation at a share of 1.
EACH = 60
_CHECKS = [not_a_server_error, response_schema_conformance, content_type_conformance]
_HERE = {"Host": "127.0.0.1"}


@schemathesis.serializer("image/*", "video/*")
def _as_it_is(_: Any, value: Any) -> bytes:
    return value if isinstance(value, bytes) else str(value).encode()


def run(budget: Budget) -> Row:
    """Ask for every operation of the description."""
    row = Row("interface")
    answered: Counter[int] = Counter()
    budget.findings.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as folder, opened_site(Path(folder), photos=6) as site:
        schema = schemathesis.openapi.from_asgi("/api/openapi.json", site, headers=_HERE)
        client = TestClient(site, base_url=f"http://{_HERE['Host']}", raise_server_exceptions=False)
        operations = [found.ok() for found in schema.get_all_operations()]
        # What removes something comes last, so that there is something to ask for until then.
        for operation in sorted(operations, key=lambda one: one.method == "delete"):
            ask(operation, client, budget, row, answered)
    row.peak_mb = peak_mb()
    told = ", ".join(f"{status} × {times}" for status, times in sorted(answered.items()))
    row.notes.append(f"answers: {told}")
    return row


def ask(
    operation: Any, client: TestClient, budget: Budget, row: Row, answered: Counter[int]
) -> None:
    """Send requests for one operation: right ones, wrong ones, and bodies that are damaged."""
    rng = random.Random(budget.seed)

    @seed(budget.seed)
    @settings(
        max_examples=budget.cases(EACH),
        deadline=None,
        database=None,
        phases=[Phase.explicit, Phase.generate],
        suppress_health_check=list(HealthCheck),
        report_multiple_bugs=False,
    )
    @given(case=operation.as_strategy())
    def send(case: Any) -> None:
        aim(case)
        start = time.perf_counter()
        try:
            answer = case.call(headers=_HERE)
            answered[answer.status_code] += 1
            case.validate_response(answer, checks=_CHECKS)
            if isinstance(case.body, dict):
                damaged = damage_json(json.dumps(case.body).encode(), rng)
                status = client.request(
                    case.method,
                    case.formatted_path,
                    params=case.query,
                    content=damaged,
                    headers={"content-type": "application/json"},
                ).status_code
                answered[status] += 1
                row.cases += 1
                if status >= 500:
                    keep(row, budget, damaged, f"{operation.label} answers {status} to this body")
        except (Exception, BaseExceptionGroup):
            keep(row, budget, repr(case).encode(), f"{operation.label}: {traceback.format_exc()}")
        took = time.perf_counter() - start
        row.cases += 1
        slowest[took] = operation.label
        row.worst_s = max(row.worst_s, took)
        if took > MOST_S:
            keep(row, budget, repr(case).encode(), f"{operation.label} took {took:.1f} s")

    slowest: dict[float, str] = {}
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        send()
    if (most := max(slowest)) > 0.5 * MOST_S:
        row.notes.append(f"slow: {slowest[most]} took {most:.1f} s")


def aim(case: Any) -> None:
    """Let every second id be one of a record that is there."""
    for given_ids in (case.path_parameters, case.query):
        for name, value in list((given_ids or {}).items()):
            if isinstance(value, int) and value % 2:
                given_ids[name] = 1 + value % 5


@contextmanager
def opened_site(folder: Path, *, photos: int) -> Iterator[Any]:
    """Yield the site of a club with gymnasts and so many photos, nothing measured."""
    app = App(data=folder / "club")
    taken_in = _lay_out(folder)
    _found_club(app, taken_in)
    for picture in sorted(taken_in.glob("*.jpg"))[photos:]:
        picture.unlink()
    app.take_in_folder()(
        app.club().id,
        app.folders.read(taken_in),
        day=date.today(),
        today=date.today(),
        author=AUTHOR,
        progress=Silent(),
    )
    yield make_site(app, measure=False)
    app.records.close()
