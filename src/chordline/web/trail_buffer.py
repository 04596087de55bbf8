"""Lines of the trail for what was only looked at: kept for a second, written together.

A page does not wait for the disk, and looking at one gymnast for ten minutes is one line.
"""

import logging
import threading
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta

from chordline.application.accounts.acting import Act
from chordline.application.accounts.records import NewTrail
from chordline.application.club.ports import Records
from chordline.errors import ChordlineError

_log = logging.getLogger(__name__)

#: Looks at one gymnast by one login within this are one line (assumption).
ONE_LOOK = timedelta(minutes=10)
#: Long enough to answer a family's question or a complaint (assumption; local rules come first).
KEPT_FOR = timedelta(days=3 * 365)
_WRITTEN_EVERY_S = 1.0
_FORGOTTEN_EVERY = timedelta(days=1)
#: A bound for a database that cannot be written.
_MOST_WAITING = 10_000


@dataclass(frozen=True)
class _Seen:
    at: datetime
    login_id: int
    act: Act


class TrailBuffer:
    """Gathers what was looked at, and writes it in a thread of its own."""

    def __init__(self, records: Callable[[], Records], now: Callable[[], datetime]) -> None:
        self._records = records
        self._now = now
        self._lock = threading.Lock()
        self._writing = threading.Lock()
        self._waiting: list[_Seen] = []
        self._last: dict[tuple[object, ...], datetime] = {}
        self._ended = threading.Event()
        self._thread: threading.Thread | None = None

    def start(self) -> None:
        """Begin to write every second."""
        self._ended.clear()
        self._thread = threading.Thread(target=self._run, name="trail", daemon=True)
        self._thread.start()

    def stop(self) -> None:
        """Write what is left."""
        self._ended.set()
        if self._thread is not None:
            self._thread.join(10)
        self.write()

    def add(self, act: Act, *, login_id: int) -> None:
        """Take up that somebody looked at something; quick."""
        now = self._now()
        with self._lock:
            if act.what == "saw" and self._is_one_look((login_id, act.about), now):
                return
            if len(self._waiting) < _MOST_WAITING:
                self._waiting.append(_Seen(now, login_id, act))

    def write(self, *, forget_old: bool = False) -> None:
        """Write what waits."""
        with self._writing:
            with self._lock:
                seen, self._waiting = self._waiting, []
            try:
                self._keep(seen, forget_old=forget_old)
            except ChordlineError as error:
                _log.warning("the trail waits: %s", error)
                with self._lock:
                    self._waiting[:0] = seen

    def _keep(self, seen: list[_Seen], *, forget_old: bool) -> None:
        if not seen and not forget_old:
            return
        fresh: list[tuple[object, ...]] = []
        try:
            with self._records().transaction() as tx:
                if forget_old:
                    tx.trail.forget(self._now() - KEPT_FOR)
                for one in seen:
                    kind, id = one.act.subject or ("", 0)
                    gymnast_id = tx.trail.whose(kind, id) if kind else None
                    if one.act.what == "saw" and gymnast_id is not None:
                        key: tuple[object, ...] = (one.login_id, "saw", gymnast_id)
                        with self._lock:
                            if self._is_one_look(key, one.at):
                                continue
                        fresh.append(key)
                    tx.trail.add(_line(one, gymnast_id))
        except ChordlineError:
            with self._lock:
                for key in fresh:
                    self._last.pop(key, None)
            raise

    def _is_one_look(self, key: tuple[object, ...], at: datetime) -> bool:
        """Return whether a look belongs to one before it; it begins a new one otherwise."""
        last = self._last.get(key)
        if last is not None and at - last < ONE_LOOK:
            return True
        if len(self._last) > _MOST_WAITING:
            self._last = {one: then for one, then in self._last.items() if at - then < ONE_LOOK}
        self._last[key] = at
        return False

    def _run(self) -> None:
        forgot_at: datetime | None = None
        while not self._ended.wait(_WRITTEN_EVERY_S):
            now = self._now()
            forget_old = forgot_at is None or now - forgot_at >= _FORGOTTEN_EVERY
            self.write(forget_old=forget_old)
            forgot_at = now if forget_old else forgot_at


def _line(seen: _Seen, gymnast_id: int | None) -> NewTrail:
    return NewTrail(
        at=seen.at,
        who=seen.act.who,
        what=seen.act.what,
        about=seen.act.about,
        gymnast_id=gymnast_id,
        account_id=seen.act.account_id,
        device=seen.act.device,
    )
