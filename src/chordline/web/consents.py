"""Keeps to what families said while the server is up: once at the start, then every day."""

import logging
import threading
from datetime import date

from chordline.bootstrap import App
from chordline.errors import ChordlineError

_log = logging.getLogger(__name__)

#: How often it looks whether a new day has begun [s].
_LOOKS_EVERY_S = 600.0
#: A start is busy enough; nothing has to go within seconds [s].
_FIRST_AFTER_S = 5.0


class Consents:
    """Works in a thread of its own. Killed at any moment, the next start goes on."""

    def __init__(self, app: App) -> None:
        self._app = app
        self._ended = threading.Event()
        self._thread = threading.Thread(target=self._run, name="consents", daemon=True)

    def start(self) -> None:
        """Begin."""
        self._thread.start()

    def stop(self) -> None:
        """End."""
        self._ended.set()
        if self._thread.is_alive():
            self._thread.join(timeout=10)

    def _run(self) -> None:
        done_on: date | None = None
        while not self._ended.wait(_LOOKS_EVERY_S if done_on else _FIRST_AFTER_S):
            today = date.today()
            if done_on == today:
                continue
            try:
                applied = self._app.apply_consent()(self._app.club().id, today)
                for sentence in applied.words():
                    _log.info("consent: %s", sentence)
            except ChordlineError as error:
                _log.warning("consent: %s; it is tried again tomorrow and at the next start", error)
            except Exception:  # the server must live on
                _log.exception("applying consents failed")
            done_on = today
