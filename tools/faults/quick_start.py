"""Starts `chordline` in an instant: a process that has read all of the program forks itself.

A start of the interpreter with the whole program takes seconds on a busy machine, and is the same
every time; what is killed here begins where it ends.
"""

import json
import os
import signal
import subprocess
import sys
import time
import traceback
from collections.abc import Mapping, Sequence
from contextlib import suppress
from pathlib import Path
from typing import Any

from faults.samples import TESTS


class Started:
    """A process that was started so."""

    def __init__(self, starter: "QuickStart", pid: int) -> None:
        self._starter = starter
        self.pid = pid
        self._code: int | None = None

    def poll(self) -> int | None:
        """Return what it ended with; None while it runs."""
        if self._code is None:
            self._code = self._starter.ask({"poll": self.pid})["code"]
        return self._code

    def wait(self, within_s: float = 60.0) -> int:
        """Return what it ended with; minus the signal's number where it was killed."""
        end = time.monotonic() + within_s
        while (code := self.poll()) is None:
            if time.monotonic() > end:
                self.kill()
                raise TimeoutError
            time.sleep(0.005)
        return code

    def kill(self) -> None:
        """Kill it."""
        with suppress(ProcessLookupError):
            os.kill(self.pid, signal.SIGKILL)

    def terminate(self) -> None:
        """Ask it to end."""
        with suppress(ProcessLookupError):
            os.kill(self.pid, signal.SIGTERM)


class QuickStart:
    """The process that forks."""

    def __init__(self) -> None:
        path = os.pathsep.join([str(Path(__file__).parents[1]), str(TESTS)])
        self._process = subprocess.Popen(
            [sys.executable, "-m", "faults.quick_start"],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            env={**os.environ, "PYTHONPATH": path, "OPENBLAS_NUM_THREADS": "1"},
        )
        assert self._process.stdout is not None
        self._process.stdout.readline()

    def start(
        self,
        command: Sequence[str],
        *,
        stdout: Path,
        stderr: Path,
        environment: Mapping[str, str] | None = None,
    ) -> Started:
        """Start `chordline` with arguments, or ``writer`` with those of `killed_writers`."""
        told = self.ask(
            {
                "command": list(command),
                "stdout": str(stdout),
                "stderr": str(stderr),
                "environment": dict(environment or {}),
            }
        )
        return Started(self, told["pid"])

    def ask(self, said: dict[str, Any]) -> dict[str, Any]:
        """Say something to the process and return its answer."""
        assert self._process.stdin is not None
        assert self._process.stdout is not None
        self._process.stdin.write(json.dumps(said) + "\n")
        self._process.stdin.flush()
        answer: dict[str, Any] = json.loads(self._process.stdout.readline())
        return answer

    def close(self) -> None:
        """End it."""
        assert self._process.stdin is not None
        assert self._process.stdout is not None
        self._process.stdin.close()
        self._process.wait()
        self._process.stdout.close()


def main() -> None:
    """Fork for each line that comes in."""
    _read_the_program()
    print(json.dumps({"ready": True}), flush=True)
    for line in sys.stdin:
        said = json.loads(line)
        if "poll" in said:
            pid, status = os.waitpid(said["poll"], os.WNOHANG)
            code = None if pid == 0 else os.waitstatus_to_exitcode(status)
            print(json.dumps({"code": code}), flush=True)
            continue
        pid = os.fork()
        if pid == 0:
            _be(said)
        print(json.dumps({"pid": pid}), flush=True)


def _read_the_program() -> None:
    import tempfile  # noqa: PLC0415

    from starlette.testclient import TestClient  # noqa: PLC0415

    import chordline.cli.main  # noqa: F401, PLC0415
    import killed_writers  # noqa: F401, PLC0415
    from chordline.bootstrap import App  # noqa: PLC0415
    from chordline.web.site import make_site  # noqa: PLC0415

    with tempfile.TemporaryDirectory() as folder:
        app = App(data=Path(folder))
        _ = app.catalogue, app.judge_screen, app.training
        app.make_backup(), app.take_in_folder(), app.erase_her()
        # Outside of its own life, a site starts no threads; the pages are compiled by asking.
        client = TestClient(make_site(app, measure=False), base_url="http://127.0.0.1")
        for page in ("/", "/screening", "/look", "/squad", "/settings"):
            client.get(page)
        app.records.close()


def _be(said: dict[str, Any]) -> None:
    """Be the command that was asked for; never returns."""
    code = 70
    try:
        flags = os.O_WRONLY | os.O_CREAT | os.O_APPEND
        os.dup2(os.open(os.devnull, os.O_RDONLY), 0)
        os.dup2(os.open(said["stdout"], flags, 0o600), 1)
        os.dup2(os.open(said["stderr"], flags, 0o600), 2)
        os.environ.update(said["environment"])
        first, *rest = said["command"]
        if first == "writer":
            import killed_writers  # noqa: PLC0415

            kind, address, number = rest
            killed_writers.WRITERS[kind](address, int(number))
        else:
            from chordline.cli.main import run  # noqa: PLC0415

            sys.argv = ["chordline", first, *rest]
            run()
        code = 0
    except SystemExit as ended:
        code = ended.code if isinstance(ended.code, int) else int(ended.code is not None)
    except BaseException:
        traceback.print_exc()
    finally:
        with suppress(BaseException):
            sys.stdout.flush()
            sys.stderr.flush()
        os._exit(code)


if __name__ == "__main__":
    main()
