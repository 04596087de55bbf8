"""Keeps to what families said while the server is up: once at the start, then every day."""

import logging
from datetime import date

from chordline.bootstrap import App
from chordline.errors import ChordlineError
from chordline.web.in_background import InBackground

_log = logging.getLogger(__name__)

#: How often it looks whether a new day has begun [s].
_LOOKS_EVERY_S = 600.0
#: A start is busy enough; nothing has to go within seconds [s].
_FIRST_AFTER_S = 5.0


class Consents(InBackground):
    """Works in a thread of its own. Killed at any moment, the next start goes on."""

    def __init__(self, app: App) -> None:
        super().__init__("consents")
        self._app = app

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
