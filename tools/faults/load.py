"""A busy evening: ten devices send a squad's photos while twenty people read pages.

The clients are threads of this process, on the same machine as the server: both share its cores.
A device sends the next photo as soon as the last one is filed, as the screening page does. Who
reads looks at a page for about a second (assumption: somebody who looks for a name in a hurry).
"""

import http.client
import os
import random
import statistics
import tempfile
import threading
import time
from dataclasses import dataclass, field
from datetime import date
from importlib import resources
from pathlib import Path

from chordline.adapters.pose.weights import read_status
from chordline.application.headway import Silent
from chordline.bootstrap import App
from chordline.cli.demo import _found_club, _lay_out
from chordline.cli.take_in import AUTHOR
from faults.attempt import keep, peak_mb
from faults.row import Budget, Row
from faults.server import Asker, Server, served
from faults.wholeness import Wholeness

DEVICES, PHOTOS, READERS = 10, 48, 20
#: The least that is still several at once.
_LEAST = (3, 4, 4)
#: 95 of 100 pages come within so long, on two cores with nothing else to do [ms].
WANTED_MS = 400.0
_LOOKS_S = (0.5, 1.5)
_PAGES = (
    "/", "/screening", "/look", "/squad", "/squad?view=capacities", "/gymnasts/{her}",
    "/gymnasts/{her}/screen", "/screens/{her}", "/photos/{photo}",
    "/photos/{photo}/picture?px=480", "/photos/{photo}/picture?px=1600", "/api/progress",
)  # fmt: skip


@dataclass
class Told:
    """What the clients saw."""

    pages_s: dict[str, list[float]] = field(default_factory=dict)
    sent_s: list[float] = field(default_factory=list)
    filed: set[int] = field(default_factory=set)
    errors: list[str] = field(default_factory=list)
    lock: threading.Lock = field(default_factory=threading.Lock)


def run(budget: Budget) -> Row:
    """Let them come."""
    row = Row("load")
    budget.findings.mkdir(parents=True, exist_ok=True)
    whole = (DEVICES, PHOTOS, READERS)
    devices, photos, readers = (
        min(most, max(least, budget.cases(most))) for most, least in zip(whole, _LEAST, strict=True)
    )
    measuring = budget.share >= 1.0 and not any(
        one.file.needed and one.state == "missing" for one in read_status()
    )
    told = Told()
    with tempfile.TemporaryDirectory() as name:
        data = prepared_club(Path(name))
        with served(data, measuring=measuring, stderr=budget.findings / "server.txt") as server:
            took_s = _evening(server, told, budget.seed, (devices, photos, readers))
            measured = _count_measured(server)
            app = App(data=data)
            broken = Wholeness(data).faults(app)
            with app.records.reading() as tx:
                there = sum(tx.photos.get(one).id == one for one in told.filed)
            app.records.close()
    pages = [one for times in told.pages_s.values() for one in times]
    row.cases = len(pages) + len(told.sent_s)
    row.worst_s = max(pages)
    row.peak_mb = peak_mb()
    for one in [*told.errors, *broken]:
        keep(row, budget, one.encode(), one)
    if not there == len(told.filed) == devices * photos:
        keep(row, budget, b"filed", f"{there} of {devices * photos} photos are filed")
    _tell(row, budget, told, pages)
    row.notes.append(
        f"{devices} devices, {readers} readers: {there} of {devices * photos} photos filed in "
        f"{took_s:.0f} s, {len(told.errors)} errors; {measured} were measured meanwhile"
        + ("" if measuring else " (measuring was off)")
    )
    return row


def _tell(row: Row, budget: Budget, told: Told, pages: list[float]) -> None:
    p95_ms = 1e3 * _p95(pages)
    load = f"load average {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores"
    row.notes.append(
        f"{len(pages)} pages: p50 {1e3 * statistics.median(pages):.0f} ms, p95 {p95_ms:.0f} ms; "
        f"a photo is filed within p50 {1e3 * statistics.median(told.sent_s):.0f} ms, "
        f"p95 {1e3 * _p95(told.sent_s):.0f} ms; {load}"
    )
    slowest = sorted(told.pages_s.items(), key=lambda one: -_p95(one[1]))[:4]
    row.notes.append(
        "slowest pages by p95: "
        + ", ".join(f"{page} {1e3 * _p95(times):.0f} ms" for page, times in slowest)
    )
    if budget.share >= 1.0 and p95_ms > WANTED_MS:
        keep(row, budget, b"slow", f"p95 of the pages is {p95_ms:.0f} ms, above {WANTED_MS:.0f} ms")


def _p95(times: list[float]) -> float:
    return statistics.quantiles(times, n=20)[-1] if len(times) > 1 else times[0]


def prepared_club(folder: Path) -> Path:
    """Return the data folder of the demo's gymnasts with a photo each."""
    app = App(data=folder / "club")
    taken_in = _lay_out(folder)
    _found_club(app, taken_in)
    for picture in taken_in.glob("*.jpg"):
        if not picture.name.endswith("_prone-overhead.jpg"):
            picture.unlink()
    today = date.today()
    app.take_in_folder()(
        app.club().id, app.folders.read(taken_in), day=today, today=today, author=AUTHOR,
        progress=Silent(),
    )  # fmt: skip
    with app.records.transaction() as tx:
        for her in range(1, 7):
            tx.screens.on(her, today)
    app.records.close()
    return folder / "club"


def _evening(server: Server, told: Told, seed: int, counts: tuple[int, int, int]) -> float:
    devices, photos, readers = counts
    over = threading.Event()
    sending = [
        threading.Thread(target=_send, args=(server.port, told, device, photos))
        for device in range(devices)
    ]
    reading = [
        threading.Thread(target=_read, args=(server.port, told, over, random.Random(seed + one)))
        for one in range(readers)
    ]
    start = time.perf_counter()
    for thread in (*reading, *sending):
        thread.start()
    for thread in sending:
        thread.join()
    took_s = time.perf_counter() - start
    over.set()
    for thread in reading:
        thread.join()
    return took_s


def _send(port: int, told: Told, device: int, photos: int) -> None:
    ours = sorted(
        (one for one in (resources.files("chordline.demo") / "club").iterdir()
         if one.name.endswith(".jpg")),
        key=lambda one: one.name,
    )  # fmt: skip
    asker = Asker(port)
    for number in range(photos):
        source = ours[number % len(ours)]
        # Bytes behind the end of the picture: another file, the same to look at.
        content = source.read_bytes() + f"device {device}, photo {number}".encode()
        try:
            answer = asker.ask("POST", f"/api/photos?name={source.name}", content)
        except (OSError, http.client.HTTPException) as error:
            with told.lock:
                told.errors.append(f"a photo: {type(error).__name__}")
            continue
        with told.lock:
            if answer.status == 201:
                told.filed.add(answer.json()["id"])
                told.sent_s.append(answer.took_s)
            else:
                told.errors.append(f"a photo: {answer.status} {answer.text[:200]}")
    asker.close()


def _read(port: int, told: Told, over: threading.Event, rng: random.Random) -> None:
    asker = Asker(port, headers={"Accept-Encoding": "gzip"})
    over.wait(rng.uniform(0.0, _LOOKS_S[1]))
    while True:
        page = rng.choice(_PAGES)
        path = page.format(her=rng.randrange(1, 7), photo=rng.randrange(1, 7))
        try:
            answer = asker.get(path)
        except (OSError, http.client.HTTPException) as error:
            with told.lock:
                told.errors.append(f"{page}: {type(error).__name__}")
            return
        with told.lock:
            told.pages_s.setdefault(page, []).append(answer.took_s)
            if answer.status >= 400:
                told.errors.append(f"{page}: {answer.status}")
        if over.wait(rng.uniform(*_LOOKS_S)):
            break
    asker.close()


def _count_measured(server: Server) -> int:
    asker = Asker(server.port)
    done = int(asker.get("/api/progress").json()["measured"])
    asker.close()
    return done
