"""A small club behind a real server, whose finder finds the same girl in every picture."""

import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

from application_doubles import PRONE, FakePoses, body_of
from chordline.adapters.pose.weights import FOLDER_VARIABLE
from chordline.application.club.records import NewGymnast
from chordline.bootstrap import App
from gym_site import jpeg, listening


class Gym:
    """A club behind a real server, and a browser's page on it."""

    def __init__(self, browser: Any, app: App, port: int, **context: Any) -> None:
        self.app = app
        self.address = f"http://127.0.0.1:{port}"
        self.context = browser.new_context(
            **{"viewport": {"width": 1280, "height": 800}, "bypass_csp": True, **context}
        )
        self.page = self.context.new_page()
        self.page.set_default_timeout(10_000)
        self.faults: list[str] = []
        self.page.on("pageerror", lambda error: self.faults.append(str(error)))

    def go(self, path: str) -> None:
        self.page.goto(self.address + path)

    def send(self, name: str, shade: int) -> int:
        answer = self.context.request.post(
            f"{self.address}/api/photos?name={name}", data=jpeg(shade)
        )
        return int(answer.json()["id"])

    def api(self, path: str) -> Any:
        return self.context.request.get(f"{self.address}/api{path}").json()

    def wait_measured(self) -> None:
        deadline = time.monotonic() + 20
        while self.api("/progress")["waiting"]:
            assert time.monotonic() < deadline, "it is never measured"
            time.sleep(0.05)

    def doubtful(self, count: int) -> list[int]:
        """Photos of a girl on her stomach that claim to be handstands."""
        self.go("/look")
        ids = [self.send("11_handstand.jpg", 10 + i) for i in range(count)]
        self.wait_measured()
        return ids


@contextmanager
def open_club(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[tuple[App, int]]:
    """Yield the application with two gymnasts, and the port where its site listens."""
    weights = tmp_path / "no weights"
    weights.mkdir()
    monkeypatch.setenv(FOLDER_VARIABLE, str(weights))
    app = App(data=tmp_path / "club")
    app.__dict__["poses"] = FakePoses((body_of(PRONE),), shrink=1.0)
    with app.records.transaction() as tx:
        club = tx.clubs.add("Turnverein")
        for card, name in ((11, "Mila Berg"), (12, "Ida Sol")):
            tx.gymnasts.add(club.id, NewGymnast(name, card=card))
    with listening(app, measure=True) as port:
        yield app, port
