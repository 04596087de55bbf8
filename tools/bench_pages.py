"""Serves a large club and prints how long each page takes and how much it sends.

    python tools/bench_pages.py [--gymnasts 5000] [--photos 100000] [--repeats 60]

The club's measurements are those of the demo club, measured here, over and over; its pictures are
not there. Times are those of the server: from the request to the last byte, over one connection
on this machine.
"""

import argparse
import gzip
import http.client
import os
import random
import re
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from importlib import resources
from pathlib import Path
from typing import Any

from bench_long_club import GYMNASTS, IN_A_GROUP, SCREENS, build_long_club
from bench_records import Invented, build_club
from chordline.adapters.db.records import open_records
from chordline.adapters.media.measurement_cache import NoCache
from chordline.application.findings_json import findings_to_json
from chordline.application.headway import Silent
from chordline.application.judge_folder import judge_folder
from chordline.application.measurement_json import measurement_to_json
from chordline.bootstrap import build_app

WANTED_MS = 100.0
WANTED_KB = 150.0
#: Pages opened before the server has read ahead, and how long it then gets for the rest [s].
AT_ONCE, READ_AHEAD_S = 15, 240.0
_ASSET = re.compile(r'(?:href|src)="(/static/[^"]+)"')
_IMPORT = re.compile(r"""(?:from|import)\s*\(?\s*["'](\.{1,2}/[^"']+)["']""")


class Measured(Invented):
    """What the demo club showed."""

    def __init__(self) -> None:
        app = build_app()
        self.catalogue = app.catalogue.version
        with resources.as_file(resources.files("chordline.demo") / "club") as folder:
            screened = app.screen_folder()(
                app.folders.read(folder), cache=NoCache(), progress=Silent()
            )
        found = judge_folder(
            screened,
            screen="2025-09-01",
            find=app.find_limits(),
            forecast=app.forecast_line,
        )
        self._findings = [findings_to_json(one) for one in found]
        self._photos = [
            [measurement_to_json(one.measurement) for one in girl.filed]
            for girl in screened.gymnasts
        ]

    def measurement(
        self, chance: random.Random, *, gymnast: int, number: int, photo: str
    ) -> dict[str, Any]:
        hers = self._photos[gymnast % len(self._photos)]
        # Two screens share her photos in turn, so that each has the whole battery.
        record = {**hers[(number // 2) % len(hers)], "photo": photo}
        if chance.random() < 0.02:
            why = ["which way she faces was guessed (80% sure); say which side is near the phone"]
            record = {**record, "trust": {"accepted": False, "reasons": why}}
        return record

    def findings(self, chance: random.Random, *, gymnast: int) -> dict[str, Any]:
        return self._findings[gymnast % len(self._findings)]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--gymnasts", type=int, default=5_000)
    parser.add_argument("--photos", type=int, default=100_000)
    parser.add_argument("--repeats", type=int, default=60)
    said = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        started = time.perf_counter()
        records = open_records(f"sqlite:///{Path(folder) / 'records.sqlite'}")
        invented = Measured()
        build_club(records, gymnasts=said.gymnasts, photos=said.photos, invented=invented)
        with records.reading() as tx:
            deep = tx.photos.queue(1, limit=200).next
        records.close()
        size_mb = (Path(folder) / "records.sqlite").stat().st_size / 1e6
        print(
            f"{said.gymnasts} gymnasts, {said.photos} photos: built in "
            f"{time.perf_counter() - started:.0f} s, {size_mb:.0f} MB"
        )
        with served(Path(folder)) as port:
            print_table(port, said.gymnasts, said.photos, said.repeats, deep)
    print_long_club(invented, said.repeats)


def print_long_club(invented: Invented, repeats: int) -> None:
    """Print what progress takes after ten years: right after the start, read ahead, and again."""
    with tempfile.TemporaryDirectory() as folder:
        records = open_records(f"sqlite:///{Path(folder) / 'records.sqlite'}")
        build_long_club(records, invented)
        records.close()
        print(f"\n{GYMNASTS} gymnasts with {SCREENS} screens each")
        with served(Path(folder)) as port:
            visitor = Visitor(port)
            visitor.get("/gymnasts/1/progress")
            count = min(repeats, GYMNASTS - 1)
            early = [f"/gymnasts/{i}/progress" for i in range(2, 2 + AT_ONCE)]
            hers = [f"/gymnasts/{GYMNASTS - i}/progress" for i in range(count)]
            groups = [f"/progress?group={i + 1}" for i in range(GYMNASTS // IN_A_GROUP)]
            for name, addresses in (
                ("progress, right after the start", early),
                ("progress, read ahead", hers),
                ("progress, again", hers),
                ("squad's progress, first time", groups),
                ("squad's progress, again", groups),
            ):
                if addresses is hers and name.endswith("ahead"):
                    time.sleep(READ_AHEAD_S)
                    visitor = Visitor(port)  # the server ends a connection that is silent for long
                times = [visitor.get(one)[1] for one in addresses]
                p95 = statistics.quantiles(times, n=20)[-1]
                print(f"{name:30s}{statistics.median(times):8.1f}{p95:8.1f}")


@contextmanager
def served(folder: Path) -> Iterator[int]:
    """Yield the port of the installed command, serving a folder."""
    command = [sys.executable, "-m", "chordline", "serve", "--no-browser", "--port", "0"]
    environment = {**os.environ, "PYTHONUNBUFFERED": "1"}
    with subprocess.Popen(
        [*command, "--data", str(folder)], stdout=subprocess.PIPE, text=True, env=environment
    ) as server:
        assert server.stdout is not None
        found = re.search(r":(\d+)/", server.stdout.readline())
        assert found is not None
        try:
            yield int(found[1])
        finally:
            server.terminate()


class Visitor:
    """One kept connection."""

    def __init__(self, port: int) -> None:
        self._connection = http.client.HTTPConnection("127.0.0.1", port, timeout=60)

    def get(self, path: str) -> tuple[bytes, float]:
        """Return the bytes as sent and the time they took [ms]."""
        started = time.perf_counter()
        self._connection.request("GET", path, headers={"Accept-Encoding": "gzip"})
        answer = self._connection.getresponse()
        content = answer.read()
        took_ms = 1e3 * (time.perf_counter() - started)
        if answer.status != 200:
            raise SystemExit(f"{path}: {answer.status}")
        return content, took_ms


def print_table(port: int, gymnasts: int, photos: int, repeats: int, deep: str | None) -> None:
    chance = random.Random(3)
    gymnast = lambda: chance.randint(1, gymnasts)  # noqa: E731
    pages: dict[str, Callable[[], str]] = {
        "today": lambda: "/",
        "screening": lambda: "/screening",
        "to look at": lambda: "/look",
        "to look at, fifth page": lambda: f"/look?after={deep}" if deep else "/look",
        "squad": lambda: "/squad",
        "squad, capacities": lambda: "/squad?view=capacities",
        "squad, a group": lambda: f"/squad?group={chance.randint(1, max(gymnasts // 25, 1))}",
        "squad, search": lambda: f"/squad?search={chance.choice(['an', 'be', 'cla', 'di'])}",
        "squad, longest not screened": lambda: "/squad?sort=last_screened",
        "gymnast": lambda: f"/gymnasts/{gymnast()}",
        "screen": lambda: f"/screens/{chance.randint(1, 2 * gymnasts)}",
        "photo with the mark editor": lambda: f"/photos/{chance.randint(1, photos)}",
        "roster": lambda: "/roster",
        "settings": lambda: "/settings",
        "help": lambda: "/help",
        "json: search a gymnast": lambda: "/api/gymnasts?search=an",
        "json: progress": lambda: "/api/progress",
    }
    visitor = Visitor(port)
    print(
        f"{'page':30s}{'p50 ms':>8s}{'p95 ms':>8s}{'kB':>8s}"
        f"   (wanted: p95 ≤ {WANTED_MS:g} ms, ≤ {WANTED_KB:g} kB without photos)"
    )
    for name, address in pages.items():
        first, _ = visitor.get(address())
        times = [visitor.get(address())[1] for _ in range(repeats)]
        p95 = statistics.quantiles(times, n=20)[-1]
        kb = weigh(visitor, first) / 1e3
        over = " over" if p95 > WANTED_MS or kb > WANTED_KB else ""
        print(f"{name:30s}{statistics.median(times):8.1f}{p95:8.1f}{kb:8.1f}{over}")


def weigh(visitor: Visitor, page: bytes) -> int:
    """Return the bytes of a page with its styles and all modules that its scripts import."""
    text = (gzip.decompress(page) if page[:2] == b"\x1f\x8b" else page).decode("utf-8", "replace")
    total, waiting, seen = len(page), _ASSET.findall(text), set()
    while waiting:
        path = waiting.pop()
        if path in seen:
            continue
        seen.add(path)
        sent, _ = visitor.get(path)
        total += len(sent)
        if path.endswith(".js"):
            source = gzip.decompress(sent) if sent[:2] == b"\x1f\x8b" else sent
            folder = Path(path).parent
            waiting += [
                os.path.normpath(folder / found) for found in _IMPORT.findall(source.decode())
            ]
    return total


if __name__ == "__main__":
    main()
