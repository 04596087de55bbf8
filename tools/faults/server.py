"""A real server process that is asked, watched, and killed."""

import http.client
import json
import os
import re
import subprocess
import sys
import time
import urllib.parse
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from uuid import uuid4

from chordline.adapters.pose.weights import FOLDER_VARIABLE
from faults.quick_start import QuickStart, Started

#: A server that is not up by then will never be [s].
_MOST_START_S = 180.0


@dataclass(frozen=True)
class Answer:
    """Status, headers and bytes of an answer, and how long it took [s]."""

    status: int
    headers: http.client.HTTPMessage
    content: bytes
    took_s: float

    @property
    def text(self) -> str:
        """The content as text."""
        return self.content.decode("utf-8", "replace")

    def json(self) -> Any:
        """Return the content of a JSON answer."""
        return json.loads(self.content)


class Asker:
    """One kept connection, as a browser has it; not for two threads at once."""

    def __init__(self, port: int, *, headers: Mapping[str, str] | None = None) -> None:
        self._connection = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
        self.headers = {"Sec-Fetch-Site": "same-origin", **(headers or {})}

    def ask(
        self, method: str, path: str, content: bytes = b"", kind: str = "application/octet-stream"
    ) -> Answer:
        """Ask for something; raises `OSError` or `HTTPException` where nobody answers."""
        headers = {**self.headers, **({"Content-Type": kind} if content else {})}
        start = time.perf_counter()
        self._connection.request(method, path, content or None, headers)
        got = self._connection.getresponse()
        answer = Answer(got.status, got.msg, got.read(), time.perf_counter() - start)
        if got.will_close:
            self._connection.close()
        return answer

    def get(self, path: str) -> Answer:
        """Ask for a page."""
        return self.ask("GET", path)

    def send_json(self, method: str, path: str, said: object) -> Answer:
        """Send JSON."""
        return self.ask(method, path, json.dumps(said).encode(), "application/json")

    def send_form(self, path: str, **fields: str) -> Answer:
        """Send a form."""
        form = urllib.parse.urlencode(fields).encode()
        return self.ask("POST", path, form, "application/x-www-form-urlencoded")

    def send_file(self, path: str, name: str, content: bytes) -> Answer:
        """Send a form with one file in it."""
        sign = uuid4().hex
        head = f'--{sign}\r\nContent-Disposition: form-data; name="file"; filename="{name}"\r\n\r\n'
        body = head.encode() + content + f"\r\n--{sign}--\r\n".encode()
        return self.ask("POST", path, body, f"multipart/form-data; boundary={sign}")

    def close(self) -> None:
        """Hang up."""
        self._connection.close()


class Server:
    """`chordline serve` on a folder."""

    def __init__(
        self, folder: Path, *, measuring: bool, stderr: Path, quick: QuickStart | None = None
    ) -> None:
        """Start it and wait until it answers.

        Parameters
        ----------
        folder : Path
        measuring : bool
            Without, its weights are nowhere: nothing is measured but from marks.
        stderr : Path
            What it complains of is added here.
        quick : QuickStart, optional
            Starts it; else a new interpreter does.
        """
        command = ["serve", "--no-browser", "--port", "0", "--data", str(folder)]
        environment = {"PYTHONUNBUFFERED": "1"}
        if not measuring:
            environment[FOLDER_VARIABLE] = str(folder / "no weights")
        start = time.perf_counter()
        said = stderr.with_name(f"said-{uuid4().hex}.txt")
        if quick is not None:
            self._process: Started | subprocess.Popen[bytes] = quick.start(
                command, stdout=said, stderr=stderr, environment=environment
            )
        else:
            with stderr.open("ab") as complaints, said.open("wb") as saying:
                self._process = subprocess.Popen(
                    [sys.executable, "-m", "chordline", *command],
                    stdout=saying,
                    stderr=complaints,
                    env={**os.environ, **environment},
                )
        self.port = self._listens_at(said, stderr)
        said.unlink()
        asker = Asker(self.port)
        # It listens before it is ready; this waits until it is.
        asker.get("/static/x/mark.svg")
        asker.close()
        self.start_s = time.perf_counter() - start

    def _listens_at(self, said: Path, stderr: Path) -> int:
        end = time.monotonic() + _MOST_START_S
        while time.monotonic() < end and self.is_up():
            if said.exists() and (found := re.search(r":(\d+)/\n", said.read_text())):
                return int(found[1])
            time.sleep(0.01)
        self._process.kill()
        raise RuntimeError(f"the server does not start; see {stderr}")

    @property
    def pid(self) -> int:
        """Number of its process."""
        return self._process.pid

    def kill(self) -> None:
        """Kill it as a power cut would."""
        self._process.kill()
        self._process.wait()

    def end(self) -> None:
        """End it as Ctrl-C would."""
        self._process.terminate()
        self._process.wait()

    def is_up(self) -> bool:
        """Return whether it runs."""
        return self._process.poll() is None

    def children(self) -> list[int]:
        """Return the numbers of the processes that it started."""
        return children_of(self.pid)


@contextmanager
def served(folder: Path, *, measuring: bool, stderr: Path) -> Iterator[Server]:
    """Yield a server that is ended afterwards."""
    server = Server(folder, measuring=measuring, stderr=stderr)
    try:
        yield server
    finally:
        if server.is_up():
            server.end()


def children_of(pid: int) -> list[int]:
    """Return the processes that one started; none where the system does not tell."""
    try:
        told = [
            path.read_text(encoding="ascii")
            for path in Path(f"/proc/{pid}/task").glob("*/children")
        ]
    except OSError:
        return []
    return [int(one) for text in told for one in text.split()]
