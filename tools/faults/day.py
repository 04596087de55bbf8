"""A day of use in some minutes: does a server that is left open grow?

Two hundred visits, one every seven minutes of 24 hours (assumption: more than any gym has), one
after another without the waiting between them. What a visit brings it takes away again, so that the
club stays as large as it is, and growth is the server's alone. Memory and handles are looked at
after each visit.
"""

import http.client
import io
import re
import statistics
import tempfile
import time
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from importlib import resources
from pathlib import Path

import numpy as np
from PIL import Image

from chordline.adapters.pose.weights import read_status
from chordline.bootstrap import App
from chordline.cli.demo import _plan
from faults.attempt import keep, peak_mb
from faults.load import prepared_club
from faults.row import Budget, Row
from faults.server import Answer, Asker, Server, children_of, served

VISITS = 200
#: Fewer tell nothing about growth.
_LEAST_FOR_SLOPE = 40
#: The second half of the visits, in so many groups: neighbours are alike, groups less so.
_GROUPS = 10
#: Student's t for 95 % with `_GROUPS` - 2 degrees of freedom.
_T_95 = 2.306
#: A server that is left open for a week grows by 100 MB at most, which any machine can spare
#: (assumption). Broken where even the lower end of the slope's interval is above it [MB a day].
MOST_MB_A_DAY = 15.0
#: Pools of threads and decoders come and go; more than so many handles is a leak (assumption).
MOST_MORE_HANDLES = 4
_NAME, _PASSWORD = "Lea", "violet kettle harbour moss"
_PAGES = (
    "/", "/screening", "/look", "/squad", "/gymnasts/{her}", "/gymnasts/{her}/screen",
    "/gymnasts/{her}/progress", "/photos/{photo}", "/photos/{photo}/picture?px=1600", "/training",
    "/groups/1", "/groups/1/plan", "/groups/1/gym", "/groups/1/tonight", "/progress", "/ladder",
    "/roster", "/settings", "/trail", "/api/progress", "/api/look",
)  # fmt: skip
_PAPERS = (
    "/squad/sheet.pdf", "/gymnasts/{her}/export.zip", "/groups/1/plan.pdf",
    "/gymnasts/{her}/progress.pdf", "/roster/export.xlsx",
)  # fmt: skip


@dataclass(frozen=True)
class Seen:
    """The server after a visit.

    Attributes
    ----------
    rss_mb, children_mb : float [MB]
        Memory of the server, and of the processes that it started.
    files, threads, children : int
    """

    rss_mb: float
    children_mb: float
    files: int
    threads: int
    children: int


def run(budget: Budget) -> Row:
    """Visit and look."""
    row = Row("day")
    if not Path("/proc/self/fd").exists():
        row.notes.append("left out: this system does not tell what a process holds")
        return row
    budget.findings.mkdir(parents=True, exist_ok=True)
    visits = max(2, budget.cases(VISITS))
    measuring = budget.share >= 0.1 and not any(
        one.file.needed and one.state == "missing" for one in read_status()
    )
    seen: list[Seen] = []
    with tempfile.TemporaryDirectory() as name:
        data = _club(Path(name), plan=budget.share >= 0.1)
        stderr = budget.findings / "server.txt"
        with served(data, measuring=measuring, stderr=stderr) as server:
            for number in range(visits):
                start = time.perf_counter()
                visit = Visit(server, number, measuring=measuring)
                try:
                    visit.go()
                except (OSError, http.client.HTTPException) as error:
                    visit.faults.append(f"the server is gone: {error!r}")
                row.worst_s = max(row.worst_s, time.perf_counter() - start)
                row.cases += visit.asked
                for one in visit.faults:
                    keep(row, budget, one.encode(), one)
                if not server.is_up():
                    break
                seen.append(look_at(server.pid))
    row.peak_mb = max([peak_mb(), *(one.rss_mb + one.children_mb for one in seen)])
    _judge(row, budget, seen)
    if not measuring:
        row.notes.append("measuring was off: no weights, or too short")
    return row


def _judge(row: Row, budget: Budget, seen: Sequence[Seen]) -> None:
    first, last = seen[len(seen) // 4 :][: max(1, len(seen) // 4)], seen[-max(1, len(seen) // 4) :]
    for name in ("files", "threads", "children"):
        before, after = (
            statistics.median([getattr(one, name) for one in some]) for some in (first, last)
        )
        row.notes.append(f"{name}: {before:.0f} in the second quarter, {after:.0f} in the last")
        if len(seen) >= _LEAST_FOR_SLOPE and after > before + MOST_MORE_HANDLES:
            keep(row, budget, name.encode(), f"{name} grow from {before:.0f} to {after:.0f}")
    if len(seen) < _LEAST_FOR_SLOPE:
        row.notes.append(f"{len(seen)} visits; too few to tell whether memory grows")
        return
    for name, told in (("rss_mb", "the server"), ("children_mb", "its decoders")):
        values = [getattr(one, name) for one in seen[len(seen) // 2 :]]
        slope, low, high = slope_a_day(values)
        row.notes.append(
            f"memory of {told}: {statistics.median(values):.0f} MB, and {slope:+.1f} MB a day of "
            f"use (95 %: {low:+.1f} to {high:+.1f})"
        )
        if low > MOST_MB_A_DAY:
            keep(row, budget, name.encode(), f"{told} grows by {slope:.0f} MB a day of use")


def slope_a_day(values: Sequence[float]) -> tuple[float, float, float]:
    """Return how much values grow in a day of visits, with the ends of the 95 % interval.

    A line through the means of ten groups of visits: single visits follow one another too closely
    for an interval that treats each as news.
    """
    groups = np.array_split(np.asarray(values), _GROUPS)
    means = np.array([group.mean() for group in groups])
    x = np.arange(_GROUPS, dtype=float) - (_GROUPS - 1) / 2
    slope = float(x @ means / (x @ x))
    rest = means - means.mean() - slope * x
    sd = float(np.sqrt(rest @ rest / (_GROUPS - 2) / (x @ x)))
    a_day = VISITS / (len(values) / _GROUPS)
    return slope * a_day, (slope - _T_95 * sd) * a_day, (slope + _T_95 * sd) * a_day


def look_at(pid: int) -> Seen:
    """Return what a process and its children hold now."""
    children = children_of(pid)
    return Seen(
        rss_mb=_rss_mb(pid),
        children_mb=sum(_rss_mb(one) for one in children),
        files=sum(1 for _ in Path(f"/proc/{pid}/fd").iterdir()),
        threads=sum(1 for _ in Path(f"/proc/{pid}/task").iterdir()),
        children=len(children),
    )


def _rss_mb(pid: int) -> float:
    try:
        told = Path(f"/proc/{pid}/status").read_text(encoding="ascii")
    except OSError:
        return 0.0
    found = re.search(r"VmRSS:\s+(\d+) kB", told)
    return 0.0 if found is None else int(found[1]) / 1024.0


def _club(folder: Path, *, plan: bool) -> Path:
    data = prepared_club(folder)
    app = App(data=data)
    if plan:
        _plan(app)
    else:
        with app.records.transaction() as tx:
            group = tx.clubs.add_group(app.club().id, "Demo squad")
            tx.clubs.put_in_group(group.id, list(range(1, 7)))
    app.accounts.add(app.club().id, _NAME, role="lead", password=_PASSWORD)
    app.records.close()
    return data


class Visit:
    """Somebody comes, does an evening's things in a hurry, and goes."""

    def __init__(self, server: Server, number: int, *, measuring: bool) -> None:
        self._measuring = measuring
        self._number = number
        self._asker = Asker(server.port)
        self._asker.headers["Origin"] = f"http://127.0.0.1:{server.port}"
        self.asked = 0
        self.faults: list[str] = []

    def go(self) -> None:
        """Do it."""
        her = 1 + self._number % 6
        if not self._log_in():
            return
        for page in _PAGES:
            self._get(page.format(her=her, photo=her))
        papers = _PAPERS if self._measuring else _PAPERS[:2]  # no plan is made for a few visits
        self._get(papers[self._number % len(papers)].format(her=her))
        photo = self._send_photo(her)
        self._live()
        if photo:
            self._mark(photo)
            self._ask("DELETE", f"/api/photos/{photo}")
        self._said(self._asker.send_form("/logout", form_key=self._asker.headers["X-Form-Key"]))
        self._asker.close()

    def _log_in(self) -> bool:
        came = self._said(self._asker.send_form("/login", name=_NAME, password=_PASSWORD))
        cookie = came.headers.get("Set-Cookie", "").partition(";")[0]
        if not cookie:
            self.faults.append(f"logging in: {came.status}")
            return False
        self._asker.headers["Cookie"] = cookie
        key = re.search(r'<meta name="form-key" content="(\w+)">', self._get("/account").text)
        if key is None:
            self.faults.append("no form key on a page")
            return False
        self._asker.headers["X-Form-Key"] = key[1]
        return True

    def _send_photo(self, her: int) -> int:
        source = resources.files("chordline.demo") / "club" / f"{10 + her}_handstand.jpg"
        content = source.read_bytes() + f"visit {self._number}".encode()
        path = f"/api/photos?name=a.jpg&gymnast_id={her}&test=handstand"
        answer = self._ask("POST", path, content)
        return int(answer.json()["id"]) if answer.status == 201 else 0

    def _mark(self, photo: int) -> None:
        places = {
            "malleolus": (800, 150), "knee": (805, 330), "hip": (800, 520), "shoulder": (800, 760),
            "elbow": (800, 880), "wrist": (800, 990), "hand": (800, 1040),
        }  # fmt: skip
        standing = self._get(f"/api/photos/{photo}").json()["photo"]["marks_version"]
        said = {
            "near_side": "left", "front": "right", "version": standing,
            "landmarks": {
                name: {"x_px": x, "y_px": y, "sd_px": 4.0} for name, (x, y) in places.items()
            },
        }  # fmt: skip
        self._said(self._asker.send_json("PUT", f"/api/photos/{photo}/marks", said))

    def _live(self) -> None:
        opened = self._asker.ask("POST", "/api/live")
        if not self._measuring:
            return
        session = self._said(opened, "POST /api/live").json()["session"]
        for number in range(5):
            path = f"/api/live/{session}?at_ms={100 * number}&test=handstand"
            self._ask("POST", path, _frame(), "image/jpeg")
        self._ask("DELETE", f"/api/live/{session}")

    def _get(self, path: str) -> Answer:
        return self._said(self._asker.get(path), path)

    def _ask(
        self, method: str, path: str, content: bytes = b"", kind: str = "application/octet-stream"
    ) -> Answer:
        return self._said(self._asker.ask(method, path, content, kind), f"{method} {path}")

    def _said(self, answer: Answer, what: str = "a form") -> Answer:
        self.asked += 1
        if answer.status >= 400:
            self.faults.append(
                f"{re.sub(r'/live/[^?]+|[0-9]+', 'N', what)}: {answer.status} {answer.text[:160]}"
            )
        return answer


@cache
def _frame() -> bytes:
    """Return what a camera sends: a small picture of her."""
    buffer = io.BytesIO()
    with (
        (resources.files("chordline.demo") / "club" / "11_handstand.jpg").open("rb") as file,
        Image.open(file) as picture,
    ):
        picture.resize((640, 480)).save(buffer, "JPEG", quality=70)
    return buffer.getvalue()
