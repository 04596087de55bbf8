"""A club with accounts, and browsers that are logged in to it."""

import atexit
import re
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from functools import cache
from pathlib import Path
from typing import Any

from starlette.testclient import TestClient

from chordline.adapters.db.account_schema import ACCOUNT, LOGIN, LOGIN_TRIES, PAIRING, TRAIL
from chordline.adapters.db.engine import for_writing
from chordline.adapters.db.schema import GYM_GROUP, GYMNAST
from chordline.adapters.passwords.argon import ArgonHasher
from chordline.application.accounts.log_in import ComeIn
from chordline.application.accounts.manage import ManageAccounts
from chordline.application.accounts.records import TrailQuery
from chordline.bootstrap import App
from chordline.web.door import Door
from chordline.web.site import make_site

HERE = "http://127.0.0.1"
PASSWORDS = {
    "Lea": "violet kettle harbour moss",
    "Cleo": "walnut bicycle under snow",
    "Gus": "seven lanterns by the quay",
}
ROLES = {"Lea": "lead", "Cleo": "coach", "Gus": "guest"}
OWN = {"Origin": HERE, "Sec-Fetch-Site": "same-origin"}


@dataclass
class Clock:
    """A clock that is turned by hand."""

    now: datetime = field(default_factory=lambda: datetime(2026, 3, 1, 17, tzinfo=UTC))

    def __call__(self) -> datetime:
        return self.now

    def on(self, **how: float) -> None:
        self.now += timedelta(**how)


@dataclass
class Club:
    """A site with accounts.

    `client` is a browser that nobody has logged in on.
    """

    app: App
    client: TestClient
    clock: Clock
    accounts: list[dict[str, Any]]

    def fresh(self) -> "Club":
        """Put back what tests change: starting a site for each takes longer than the tests."""
        site: Any = self.client.app
        with for_writing(self.app.records._engine).begin() as connection:
            for table in (LOGIN, PAIRING, LOGIN_TRIES, TRAIL, GYMNAST, GYM_GROUP):
                connection.execute(table.delete())
            connection.execute(ACCOUNT.delete())
            connection.execute(ACCOUNT.insert(), self.accounts)
        with site.state.trail._lock:
            site.state.trail._waiting.clear()
            site.state.trail._last.clear()
        self.client.cookies.clear()
        self.clock.now = Clock().now
        return self

    def browser(self) -> TestClient:
        return TestClient(self.client.app, base_url=HERE, follow_redirects=False)

    def as_(self, name: str) -> "Browser":
        browser = self.browser()
        answer = log_in(browser, name)
        assert answer.status_code == 303, answer.text
        page = browser.get("/account").text
        key = re.search(r'<meta name="form-key" content="(\w+)">', page)
        assert key is not None
        return Browser(browser, key[1])

    def trail(self) -> list[tuple[str, str, int | None]]:
        self.client.app.state.trail.write()
        with self.app.records.reading() as tx:
            rows = tx.trail.page(TrailQuery(self.app.club().id))
        return [(row.entry.who, row.entry.what, row.entry.gymnast_id) for row in rows]


@dataclass
class Browser:
    """A browser on which somebody is logged in."""

    client: TestClient
    form_key: str

    def get(self, address: str) -> Any:
        return self.client.get(address)

    def post(self, address: str, **fields: str) -> Any:
        data = {"form_key": self.form_key, **fields}
        return self.client.post(address, data=data, headers=OWN)

    def ask(self, method: str, address: str, **how: Any) -> Any:
        headers = {**OWN, "X-Form-Key": self.form_key, **how.pop("headers", {})}
        return self.client.request(method, address, headers=headers, **how)


def log_in(browser: TestClient, name: str, password: str | None = None) -> Any:
    said = {"name": name, "password": PASSWORDS.get(name, "") if password is None else password}
    return browser.post("/login", data=said, headers=OWN)


#: As cheap as the algorithm allows: what is tested here is not how slow it is.
CHEAP = ArgonHasher(passes=1, memory_kib=8, lanes=1)


@cache
def _made() -> Path:
    """Return a folder with a club and its accounts, to be copied: making it takes longer."""
    folder = Path(tempfile.mkdtemp(prefix="accounts-"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    app = App(data=folder)
    making = ManageAccounts(app.records, CHEAP, Clock())
    for name, role in ROLES.items():
        making.add(app.club().id, name, role=role, password=PASSWORDS[name])
    app.records.close()
    return folder


@contextmanager
def club_with_accounts(folder: Path, *, door: Door | None = None) -> Iterator[Club]:
    shutil.copytree(_made(), folder, dirs_exist_ok=True)
    app, clock = App(data=folder), Clock()
    app.__dict__["come_in"] = ComeIn(app.records, CHEAP, clock)
    app.__dict__["accounts"] = ManageAccounts(app.records, CHEAP, clock)
    site = make_site(app, door=door, measure=False)
    with TestClient(site, base_url=HERE, follow_redirects=False) as client:
        with app.records._engine.connect() as connection:
            kept = [dict(row._mapping) for row in connection.execute(ACCOUNT.select())]
        yield Club(app, client, clock, kept)
    app.records.close()
