"""A server killed while four people work with it; the next start has to have everything."""

import http.client
import io
import os
import random
import re
import signal
import threading
import time
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from PIL import Image

from chordline.bootstrap import App
from faults import samples
from faults.attempt import keep
from faults.quick_start import QuickStart
from faults.row import Budget, Row
from faults.server import Asker, Server
from faults.wholeness import SIGN, Wholeness

#: The kill comes after up to so many acknowledged things of this start, and some time more [s]:
#: so it comes as often early as late, however busy the machine is.
_AFTER, _MORE_S, _MOST_WAIT_S = 8, 0.2, 6.0
#: In every fourth run a process that decodes is killed as well, some time before.
_CHILD_EVERY = 4
#: Decoding processes end by themselves when the server is gone [s].
_ORPHANS_END_S = 5.0
_ROWS = 15
_PAGES = ("/", "/screening", "/look", "/squad", "/settings")
_PLACES = {
    "malleolus": (1240.0, 634.0), "knee": (1060.0, 628.0), "hip": (898.0, 600.0),
    "shoulder": (680.0, 622.0), "elbow": (570.0, 624.0), "wrist": (475.0, 626.0),
    "hand": (430.0, 627.0), "ear": (622.0, 625.0), "heel": (1232.0, 610.0), "toe": (1305.0, 668.0),
}  # fmt: skip


def picture(number: str) -> bytes:
    """Return a small JPEG of its own, with the sign in it."""
    buffer = io.BytesIO()
    comment = SIGN + number.encode()
    Image.new("RGB", (1600, 1200), (127, 120, 110)).save(
        buffer, "JPEG", quality=40, comment=comment
    )
    return buffer.getvalue()


def video(number: str) -> bytes:
    """Return a small video of its own, with the sign in a box that players skip."""
    said = SIGN + number.encode()
    return _VIDEO + (8 + len(said)).to_bytes(4, "big") + b"free" + said


_VIDEO = samples.videos()[0]


@dataclass
class Acknowledged:
    """What a server said is done."""

    photos: dict[int, bytes] = field(default_factory=dict)
    videos: dict[int, bytes] = field(default_factory=dict)
    marks: dict[int, tuple[int, float]] = field(default_factory=dict)
    rosters: set[str] = field(default_factory=set)
    #: Begun: may be there or not, but never in part.
    asked_rosters: set[str] = field(default_factory=set)
    erased: set[int] = field(default_factory=set)
    refused: list[str] = field(default_factory=list)

    @property
    def count(self) -> int:
        """How much there is."""
        marks = sum(version for version, _ in self.marks.values())
        lists = len(self.rosters) + len(self.erased)
        return len(self.photos) + len(self.videos) + marks + lists


class Club:
    """What four people do in a run, each in a thread."""

    def __init__(self, said: Acknowledged, port: int, run: int) -> None:
        self._said = said
        self._port = port
        self._run = run
        self._before = said.count
        self._over = threading.Event()

    def work(self, server: Server, rng: random.Random, *, child_too: bool) -> None:
        """Let them work until the server is killed."""
        jobs = (self._upload, self._mark, self._import, self._film, self._erase)
        threads = [threading.Thread(target=self._until_killed, args=(job,)) for job in jobs]
        for thread in threads:
            thread.start()
        moment, more_s = rng.randrange(_AFTER + 1), rng.uniform(0.0, _MORE_S)
        if child_too:
            self._wait_for(2)
            for pid in server.children()[:1]:
                with suppress(ProcessLookupError):
                    os.kill(pid, signal.SIGKILL)
        self._wait_for(moment)
        time.sleep(more_s)
        orphans = server.children()
        server.kill()
        self._over.set()
        for thread in threads:
            thread.join()
        end = time.monotonic() + _ORPHANS_END_S
        while any(_alive(pid) for pid in orphans):
            if time.monotonic() > end:
                self._said.refused.append("processes that decode outlived the server")
                break
            time.sleep(0.02)

    def _wait_for(self, count: int) -> None:
        end = time.monotonic() + _MOST_WAIT_S
        while self._said.count < self._before + count and time.monotonic() < end:
            time.sleep(0.002)

    def _until_killed(self, job: Any) -> None:
        asker = Asker(self._port)
        number = 0
        try:
            while not self._over.is_set():
                job(asker, f"{self._run}-{number}")
                number += 1
        except (OSError, http.client.HTTPException, ValueError):
            pass  # the server is gone
        finally:
            asker.close()

    def _done(self, answer: Any, what: str) -> bool:
        if answer.status < 300 or answer.status == 303:
            return True
        self._said.refused.append(f"{what}: {answer.status} {answer.text[:200]}")
        return False

    def _upload(self, asker: Asker, number: str) -> None:
        content = picture(number)
        path = f"/api/photos?name={number}.jpg&gymnast_id=1&test=prone-overhead"
        answer = asker.ask("POST", path, content)
        if self._done(answer, "a photo"):
            self._said.photos[answer.json()["id"]] = content

    def _film(self, asker: Asker, number: str) -> None:
        content = video(number)
        answer = asker.ask("POST", f"/api/videos?name={number}.mp4&gymnast_id=1", content)
        if self._done(answer, "a video"):
            self._said.videos[answer.json()["id"]] = content
        self._over.wait(0.1)

    def _mark(self, asker: Asker, number: str) -> None:
        del number
        photo_id = min(self._said.photos)
        standing = asker.get(f"/api/photos/{photo_id}").json()["photo"]["marks_version"]
        place = 600.0 + (standing % 50)
        marks = {name: {"x_px": x, "y_px": y, "sd_px": 4.0} for name, (x, y) in _PLACES.items()}
        marks["hip"]["y_px"] = place
        body = {"near_side": "left", "front": "down", "landmarks": marks, "version": standing}
        answer = asker.send_json("PUT", f"/api/photos/{photo_id}/marks", body)
        if self._done(answer, "marks"):
            self._said.marks[photo_id] = (answer.json()["version"], place)

    def _import(self, asker: Asker, number: str) -> None:
        rows = "".join(f"R{number} {letter}\n" for letter in "abcdefghijklmno"[:_ROWS])
        shown = asker.send_file("/roster/preview", "roster.csv", f"name\n{rows}".encode())
        token = re.search(r'name="token" value="([^"]+)"', shown.text)
        if token is None:
            self._said.refused.append(f"a roster: {shown.status}")
            return
        self._said.asked_rosters.add(number)
        if self._done(asker.send_form("/roster/import", token=token[1]), "a roster"):
            self._said.rosters.add(number)
        self._over.wait(0.1)

    def _erase(self, asker: Asker, number: str) -> None:
        made = asker.send_json("POST", "/api/gymnasts", {"name": f"Erased {number}"})
        if not self._done(made, "a gymnast"):
            return
        her = made.json()["id"]
        path = f"/api/photos?name={number}.jpg&gymnast_id={her}&test=prone-overhead"
        if not self._done(asker.ask("POST", path, picture(f"hers {number}")), "her photo"):
            return
        answer = asker.send_form(f"/gymnasts/{her}/erase", sure="yes", token=f"t{number}")
        if self._done(answer, "erasing"):
            self._said.erased.add(her)


def _alive(pid: int) -> bool:
    try:
        state = Path(f"/proc/{pid}/stat").read_text(encoding="ascii").rpartition(")")[2].split()[0]
    except OSError:
        return False
    return state != "Z"


def missing(said: Acknowledged, server: Server, *, everything: bool) -> list[str]:
    """Return what was acknowledged and is not there, as the started server tells it."""
    asker = Asker(server.port)
    found = []
    for page in _PAGES:
        if (answer := asker.get(page)).status != 200:
            found.append(f"{page}: {answer.status}")
    for photo_id in sorted(said.photos) if everything else sorted(said.photos)[-6:]:
        if asker.get(f"/api/photos/{photo_id}").status != 200:
            found.append(f"photo {photo_id} is gone")
    latest = max(said.photos)
    if asker.get(f"/photos/{latest}/picture?px=1600").status != 200:
        found.append(f"photo {latest} is not shown")
    for video_id in sorted(said.videos) if everything else sorted(said.videos)[-3:]:
        if asker.get(f"/api/videos/{video_id}/file").content != said.videos[video_id]:
            found.append(f"video {video_id} is not what was sent")
    for photo_id, (version, place) in said.marks.items():
        history = {one["version"]: one for one in asker.get(f"/api/photos/{photo_id}/marks").json()}
        if version not in history or history[version]["landmarks"]["hip"]["y_px"] != place:
            found.append(f"marks {version} of photo {photo_id} are gone")
    for number in sorted(said.asked_rosters) if everything else sorted(said.asked_rosters)[-4:]:
        rows = asker.get(f"/api/gymnasts?search=R{number}&limit=50").json()["gymnasts"]
        there = sum(row["name"].startswith(f"R{number} ") for row in rows)
        if there not in ((_ROWS,) if number in said.rosters else (0, _ROWS)):
            found.append(f"{there} of the {_ROWS} rows of a roster are there")
    found += [
        f"gymnast {her} was erased and is there"
        for her in said.erased
        if asker.get(f"/api/gymnasts/{her}").status != 404
    ]
    asker.close()
    return found


def kill_servers(row: Row, budget: Budget, folder: Path, kills: int, quick: QuickStart) -> None:
    """Kill a server so many times; add to the row what was lost.

    Every tenth is started by an interpreter of its own, as people start it.
    """
    rng = random.Random(budget.seed)
    said = Acknowledged()
    data = folder / "club"
    stderr = budget.findings / "server.txt"
    stderr.write_bytes(b"")
    whole = Wholeness(data)
    starts = []
    server = Server(data, measuring=False, stderr=stderr, quick=quick)
    asker = Asker(server.port)
    asker.send_json("POST", "/api/gymnasts", {"name": "Anna", "card": 11})
    content = picture("first")
    first = asker.ask("POST", "/api/photos?name=a.jpg&gymnast_id=1&test=prone-overhead", content)
    said.photos[first.json()["id"]] = content
    asker.close()
    app = App(data=data)
    children_killed = 0
    for run in range(kills):
        child_too = run % _CHILD_EVERY == _CHILD_EVERY - 1
        children_killed += child_too
        Club(said, server.port, run).work(server, rng, child_too=child_too)
        row.cases += 1
        server = Server(data, measuring=False, stderr=stderr, quick=quick if run % 10 else None)
        starts.append(server.start_s)
        lost = missing(said, server, everything=run == kills - 1)
        lost += whole.faults(app)
        for one in [*lost, *said.refused]:
            keep(row, budget, f"server {run} {one}".encode(), one)
        said.refused.clear()
    server.end()
    app.records.close()
    row.worst_s = max([row.worst_s, *starts])
    row.notes.append(
        f"{kills} kills of a server ({children_killed} with a process that decodes just before): "
        f"{said.count} acknowledged things, all there; the longest start took {max(starts):.1f} s"
        if not row.found
        else f"{kills} kills of a server, {said.count} acknowledged things"
    )
