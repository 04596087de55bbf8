"""Seals what is not sealed yet while the server is up, as soon as the pictures are unlocked."""

import logging
import threading

from chordline.bootstrap import App
from chordline.errors import ChordlineError, VaultLockedError
from chordline.web.in_background import InBackground

_log = logging.getLogger(__name__)

#: How often it looks whether somebody unlocked [s].
_LOOKS_EVERY_S = 5.0


class Sealing(InBackground):
    """Works in a thread of its own, once after each unlocking.

    Killed at any moment, it goes on from there at the next start.
    """

    def __init__(self, app: App) -> None:
        super().__init__("sealing")
        self._app = app

    def _run(self) -> None:
        done = False
        while not self._ended.wait(_LOOKS_EVERY_S if done else 0.5):
            try:
                if self._app.vault.locked:
                    done = False
                    continue
                if not done:
                    self._once()
                    done = True
            except VaultLockedError:
                done = False
            except _StoppedError:
                return
            except ChordlineError as error:
                _log.warning("sealing: %s", error)
                done = True
            except Exception:  # the server must live on
                _log.exception("sealing failed")
                done = True

    def _once(self) -> None:
        result = self._app.seal_pictures().all(self._app.club().id, _Stop(self._ended))
        # What a kill kept from being scrubbed after an erasure.
        self._app.records.scrub()
        if result.unreadable:
            told = "%d pictures cannot be read, such as %s; restore them from a backup"
            _log.warning(f"sealing: {told}", len(result.unreadable), result.unreadable[0])


class _StoppedError(Exception):
    """The server ends."""


class _Stop:
    """Stops between two files."""

    def __init__(self, ended: threading.Event) -> None:
        self._ended = ended

    def start(self, total: int) -> None:
        """Hear how many files there are."""

    def step(self, label: str) -> None:  # noqa: ARG002
        """Stop where the server ends."""
        if self._ended.is_set():
            raise _StoppedError
