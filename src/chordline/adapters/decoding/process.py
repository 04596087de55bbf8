"""One decoding process, seen from here."""

import os
import subprocess
import sys
import threading
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import Any, BinaryIO, Final, cast

from chordline.adapters.decoding.bounds import START_S
from chordline.adapters.decoding.shared_pixels import SharedPixels
from chordline.adapters.decoding.wire import BrokenOffError, receive, send
from chordline.errors import WorkersError

#: All that a decoder learns of this process's surroundings: no key, no address of records.
_PASSED_ON: Final = (
    "PATH", "PYTHONPATH", "PYTHONHOME", "VIRTUAL_ENV", "LANG", "LC_ALL", "SYSTEMROOT",
    "TEMP", "TMP", "LD_LIBRARY_PATH", "DYLD_LIBRARY_PATH",
)  # fmt: skip
_NOT_STARTED: Final = (
    "the program part that reads pictures does not start; install chordline again, and free some "
    "memory where little is left"
)


class DecodingProcess:
    """A process that is killed rather than waited for.

    Parameters
    ----------
    module : str
        What it runs.
    shared_bytes : int
        Room for its pixels.
    told : sequence of str
        What it is told beside that.
    """

    def __init__(self, module: str, *, shared_bytes: int, told: Sequence[str] = ()) -> None:
        self.pixels = SharedPixels(shared_bytes)
        self._ready = False
        fd = self.pixels.fd
        # Without -P a file beside the photos that is called like a library would be run.
        command = [sys.executable, "-P", "-m", module, str(fd), *told]
        kept = {name: os.environ[name] for name in _PASSED_ON if name in os.environ}
        try:
            self._process = subprocess.Popen(
                command,
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL,
                # A photo goes through in a few steps; ignored where a system cannot.
                pipesize=1_000_000,
                env={**kept, "OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1"},
                pass_fds=(fd,) if fd >= 0 else (),
                creationflags=getattr(subprocess, "CREATE_NO_WINDOW", 0),
                # Ctrl-C is for who started it; it ends with its standard input.
                start_new_session=os.name == "posix",
            )
        except OSError:
            self.pixels.close()
            raise WorkersError(_NOT_STARTED) from None
        self._to = cast(BinaryIO, self._process.stdin)
        self._from = cast(BinaryIO, self._process.stdout)

    @property
    def pid(self) -> int:
        """Number of the process."""
        return self._process.pid

    def wait_until_ready(self) -> None:
        """Wait until it has bound itself; raise `WorkersError` where it does not come up."""
        if self._ready:
            return
        try:
            with self.within(START_S):
                receive(self._from, most_bytes=0)
        except BrokenOffError:
            self.end()
            raise WorkersError(_NOT_STARTED) from None
        self._ready = True

    @contextmanager
    def within(self, seconds: float) -> Iterator[None]:
        """Kill the process where the block takes longer; what is read from it then ends."""
        timer = threading.Timer(seconds, self._process.kill)
        timer.daemon = True
        timer.start()
        try:
            yield
        finally:
            timer.cancel()

    def send(self, said: dict[str, Any], content: bytes | memoryview = b"") -> None:
        """Tell it something; raise `BrokenOffError` where it is gone."""
        send(self._to, said, content)

    def receive(self, *, most_bytes: int = 0) -> tuple[dict[str, Any], bytes]:
        """Hear from it; raise `BrokenOffError` where it is gone or says what cannot be."""
        return receive(self._from, most_bytes=most_bytes)

    def is_alive(self) -> bool:
        """Return whether it runs."""
        return self._process.poll() is None

    def kill(self) -> None:
        """Kill it; who reads from it then meets the end."""
        self._process.kill()

    def end(self) -> None:
        """Kill it, wait for it and give back what it held."""
        self._process.kill()
        self._process.wait()
        for pipe in (self._to, self._from):
            try:
                pipe.close()
            except OSError:  # what was not sent any more is not missed
                continue
        self.pixels.close()
