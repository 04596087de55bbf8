"""Every route by everybody: the cells of the table in `web/access.py`, tried one by one.

Uses the club, the browsers and the addresses of the tests of access; there each cell has a name.
"""

import sys
import tempfile
import time
from pathlib import Path

from faults.attempt import keep, peak_mb
from faults.row import Budget, Row
from faults.samples import TESTS


def run(budget: Budget) -> Row:
    """Ask for each route as nobody, guest, coach and lead."""
    row = Row("access")
    budget.findings.mkdir(parents=True, exist_ok=True)
    sys.path[:0] = [str(TESTS), str(TESTS / "web")]
    from account_stories import ROLES, club_with_accounts  # noqa: PLC0415
    from test_access import _ENDS_A_LOGIN  # noqa: PLC0415
    from test_access import (  # noqa: PLC0415
        test_each_role_may_use_what_the_table_allows_and_nothing_else as try_route,
    )

    from chordline.web.access import ACCESS  # noqa: PLC0415

    routes = sorted(ACCESS)
    count = budget.cases(len(routes))
    with (
        tempfile.TemporaryDirectory() as name,
        club_with_accounts(Path(name) / "club") as club,
    ):
        browsers = {ROLES[who]: club.as_(who) for who in ROLES}
        for route in routes[:: max(1, len(routes) // count)]:
            start = time.perf_counter()
            try:
                try_route(route, club, browsers)
            except AssertionError as error:
                keep(row, budget, route.encode(), f"{route}: {str(error)[:200]}")
            row.worst_s = max(row.worst_s, time.perf_counter() - start)
            roles = 0 if route.partition(" ")[2] in _ENDS_A_LOGIN else len(browsers)
            row.cases += 1 + roles
    row.peak_mb = peak_mb()
    row.notes.append(f"{row.cases} cells: routes by nobody, {', '.join(browsers)}")
    return row
