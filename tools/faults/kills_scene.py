"""A place where commands of one kind are killed."""

import random
import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path

from chordline.adapters.pose.weights import FOLDER_VARIABLE
from chordline.bootstrap.app import PASSPHRASE_VARIABLE
from faults.quick_start import QuickStart, Started
from vault_stories import PASSPHRASE

#: A command is not through by then [s].
_MOST_S = 120.0


@dataclass
class Scene:
    """Where commands of one kind are killed.

    Attributes
    ----------
    quick : QuickStart
    folder, data : Path
        A folder of its own, and the club's in it.
    rng : random.Random
    took_s : float [s]
        How long the last command took that came to its end.
    struck : int
        How many kills came before the command's end.
    """

    quick: QuickStart
    folder: Path
    data: Path
    rng: random.Random
    took_s: float = 0.5
    struck: int = 0

    def run(self, *command: str) -> Started:
        """Start a command on the club."""
        stderr = self.folder / "stderr.txt"
        environment = {
            FOLDER_VARIABLE: str(self.folder / "no weights"),
            PASSPHRASE_VARIABLE: PASSPHRASE if (self.folder / "locked").exists() else "",
        }
        said = self.folder / "said.txt"
        said.unlink(missing_ok=True)
        return self.quick.start(command, stdout=said, stderr=stderr, environment=environment)

    def said(self) -> list[str]:
        """Return the whole lines that it said."""
        place = self.folder / "said.txt"
        told = place.read_text() if place.exists() else ""
        return told.splitlines() if told.endswith("\n") else told.splitlines()[:-1]

    def killed(self, *command: str) -> int:
        """Kill a command at some moment; return what it ended with (0 where it was quicker)."""
        started = self.run(*command)
        start = time.monotonic()
        moment_s = self.rng.uniform(0.0, self.took_s)
        while time.monotonic() < start + moment_s:
            if started.poll() is not None:
                self.took_s = time.monotonic() - start
                break
            time.sleep(0.002)
        started.kill()
        code = started.wait()
        self.struck += code < 0
        return code

    def killed_after_a_word(self, *command: str) -> None:
        """Kill a command after it said something."""
        started = self.run(*command)
        while not self.said() and started.poll() is None:
            time.sleep(0.005)
        started.kill()
        self.struck += started.wait() < 0

    def through(self, *command: str) -> int:
        """Let a command end; return its code. Kills come within the time that it took."""
        started = self.run(*command)
        start = time.monotonic()
        code = started.wait(_MOST_S)
        self.took_s = time.monotonic() - start
        return code

    def complaints(self) -> str:
        """Return the end of what it complained of."""
        return (self.folder / "stderr.txt").read_text()[-400:]


#: Kills so often; returns what was lost, in words, for each kill.
Kind = Callable[[Scene, int], Iterable[list[str]]]
