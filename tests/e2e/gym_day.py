"""A coach's day against the installed command: a server of its own, a browser, an empty club."""

import os
import re
import shutil
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from editor_pages import CLUB, ROOT

#: Two of the demo club: one whose hips, one whose shoulders stop her line.
GIRLS = {12: "Mirela Ostrava", 13: "Amara Lindqvale"}
TESTS = ("prone-sides", "prone-overhead", "prone-raised", "handstand")
MEASURED_S = 120
#: Where a picture of the page goes when a test fails.
BUILD = ROOT / "build" / "e2e"


@contextmanager
def serving(data: Path, *more: str) -> Iterator[str]:
    """Yield the address at which `chordline serve` answers from a data folder."""
    command = [sys.executable, "-m", "chordline", "serve", "--no-browser", "--port", "0"]
    with subprocess.Popen(
        [*command, "--data", str(data), *more],
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
        env={**os.environ, "PYTHONUNBUFFERED": "1"},
    ) as server:
        assert server.stdout is not None
        found = re.search(r"open at (http://\S+)/", server.stdout.readline())
        assert found is not None, "the server did not start"
        try:
            yield found[1]
        finally:
            server.terminate()


def roster(folder: Path) -> Path:
    """Return a list of the two with a bad line among them."""
    path = folder / "roster.csv"
    lines = [f"{card};{name};2014-05-0{card - 10};" for card, name in GIRLS.items()]
    bad = "14;Tilda Brunnhof;2014-02-30;"
    path.write_text("\n".join(["card;name;birth_date;group", *lines, bad]), encoding="utf-8")
    return path


def photos(folder: Path) -> list[Path]:
    """Return the photos of the two, in a folder as it comes from a phone."""
    into = folder / "photos"
    into.mkdir()
    for card in GIRLS:
        for test in TESTS:
            shutil.copy(CLUB / f"{card}_{test}.jpg", into)
    return sorted(into.iterdir())


class Watched:
    """A browser's page, and everything that it asked for or that went wrong on it."""

    def __init__(self, browser: Any, address: str, **context: Any) -> None:
        self.address = address
        self.context = browser.new_context(
            **{"viewport": {"width": 1280, "height": 800}, **context}
        )
        self.page = self.context.new_page()
        self.page.set_default_timeout(15_000)
        self.faults: list[str] = []
        self.elsewhere: list[str] = []
        self.page.on("pageerror", lambda error: self.faults.append(str(error)))
        self.page.on(
            "console",
            lambda message: message.type == "error" and self.faults.append(message.text),
        )
        self.page.on("request", self._note)
        # Listened to from the start: a browser that is told only when the key is pressed may have
        # opened its own dialog already.
        self.choosers: list[Any] = []
        self.page.on("filechooser", lambda chooser: self.choosers.append(chooser))  # noqa: PLW0108

    def _note(self, request: Any) -> None:
        if not request.url.startswith((self.address, "data:", "blob:")):
            self.elsewhere.append(request.url)

    def go(self, path: str) -> None:
        self.page.goto(self.address + path)

    def choose_by_key(self, files: Path | list[Path]) -> None:
        """Open the dialog of the focused field by key, and choose files in it."""
        self.page.keyboard.press("Space")
        deadline = time.monotonic() + 15
        while not self.choosers:
            assert time.monotonic() < deadline, "no dialog opens"
            self.page.wait_for_timeout(50)
        self.choosers.pop().set_files(files)

    def api(self, path: str) -> Any:
        return self.context.request.get(f"{self.address}/api{path}").json()

    def wait_measured(self, count: int) -> None:
        """Wait until so many photos are there and none waits."""
        deadline = time.monotonic() + MEASURED_S
        while time.monotonic() < deadline:
            gymnasts = self.api("/gymnasts")["gymnasts"]
            screens = [one for one in gymnasts if one["last_screened_on"]]
            if len(screens) == len(GIRLS) and self.api("/progress")["waiting"] == 0:
                return
            time.sleep(0.3)
        raise AssertionError(f"{count} photos were not measured in {MEASURED_S} s")

    def __enter__(self) -> "Watched":
        return self

    def __exit__(self, kind: type[BaseException] | None, *_: object) -> None:
        if kind is not None:
            BUILD.mkdir(parents=True, exist_ok=True)
            self.page.screenshot(path=BUILD / "failed.png")
            print(f"at {self.page.url}, faults {self.faults}; see {BUILD / 'failed.png'}")
        self.context.close()
        if kind is None:
            assert self.faults == [], self.faults
            assert self.elsewhere == [], "a request left the machine"


def degrees(text: str) -> int:
    """Return the first angle in words such as ``closed by 22°``."""
    found = re.search(r"(\d+)°", text)
    return int(found[1]) if found else 0
