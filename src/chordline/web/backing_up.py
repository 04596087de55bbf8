"""Makes backups while the server is up: when they are due, and when somebody asks."""

import logging
import threading
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime

from chordline.application.backup.records import BackupSettings, moment_of
from chordline.application.backup.schedule import is_due
from chordline.bootstrap import App
from chordline.bootstrap.backup import open_folder
from chordline.errors import BackupStoppedError, ChordlineError
from chordline.web.in_background import InBackground

_log = logging.getLogger(__name__)

#: How often it looks whether one is due [s]; the first time so long after the start.
_LOOKS_EVERY_S = 30.0


@dataclass(frozen=True)
class Running:
    """How far a backup or a check is.

    Attributes
    ----------
    what : str
        ``backup``, ``check``, or empty while nothing runs.
    done, total : int
        Pictures; `total` is 0 while the records are copied.
    said : str
        What became of the last one.
    well : bool
        Whether that ended well.
    ended : int
        How many have ended since the server started.
    """

    what: str = ""
    done: int = 0
    total: int = 0
    said: str = ""
    well: bool = True
    ended: int = 0

    @property
    def words(self) -> str:
        """What it does now."""
        if not self.what:
            return self.said
        if self.total == 0:
            return "Copying the records" if self.what == "backup" else "Reading the records"
        if self.done < self.total:
            verb = "Copying" if self.what == "backup" else "Reading"
            return f"{verb} pictures: {self.done} of {self.total}"
        return "Reading everything again"


class BackingUp(InBackground):
    """Makes and checks backups in a thread of its own; what is asked meanwhile waits."""

    def __init__(
        self,
        app: App,
        *,
        now: Callable[[], datetime] = lambda: datetime.now().astimezone(),
        looks_every_s: float = _LOOKS_EVERY_S,
    ) -> None:
        super().__init__("backing up", stops_within_s=30.0)
        self._app = app
        self._now = now
        self._looks_every_s = looks_every_s
        self._lock = threading.Lock()
        self._running = Running()
        self._asked: list[str] = []
        self._wake = threading.Event()
        self._stopped = threading.Event()

    def stop(self) -> None:
        """End; a backup that is being made is given up, and made up at the next start."""
        self._ended.set()
        self._stopped.set()
        self._wake.set()
        super().stop()

    def ask(self, check: str = "") -> None:
        """Make a backup, or check the one of a name, as soon as nothing else runs."""
        with self._lock:
            if check not in self._asked and self._running.what != ("check" if check else "backup"):
                self._asked.append(check)
                if not self._running.what:
                    self._running = replace(self._running, what="check" if check else "backup")
        self._wake.set()

    def give_up(self) -> None:
        """Stop what runs; what was copied is used by the next one."""
        with self._lock:
            self._asked.clear()
        self._stopped.set()

    @property
    def running(self) -> Running:
        """How far it is."""
        with self._lock:
            return self._running

    def look(self) -> None:
        """Do what was asked for, or what is due."""
        with self._lock:
            asked = self._asked.pop(0) if self._asked else None
        if asked is None:
            settings = self._app.backup_settings.read()
            if settings.folder is None:
                return
            if not self._app.vault.locked:
                self._app.replace_rings().again()
            if not self._is_due(settings):
                return
        self._stopped.clear()
        self._change(what="check" if asked else "backup", done=0, total=0)
        try:
            said, well = (self._check(asked) if asked else self._make()), True
        except BackupStoppedError as error:
            said, well = str(error), True
        except ChordlineError as error:
            _log.warning("backup: %s", error)
            said, well = str(error), False
        except BaseException:
            self._change(what="", said="chordline itself failed", well=False)
            raise
        self._change(what="", said=said, well=well, ended=self.running.ended + 1)

    def _make(self) -> str:
        made = self._app.make_backup()(progress=_Steps(self._change), stop=self._stop_asked)
        if made.lost:
            return f"Backed up, but {len(made.lost)} pictures are missing in the club's own folder"
        if made.spoilt:
            return (
                f"Backed up, but {len(made.spoilt)} pictures are damaged in the club's own folder; "
                "an older backup may have them whole"
            )
        return f"Backed up and found whole, with {made.pictures} pictures and videos"

    def _check(self, name: str) -> str:
        folder = open_folder(self._app.backup_settings.read().folder or "")
        found = self._app.check_backup(
            folder.path / name, progress=_Steps(self._change), stop=self._stop_asked
        )
        if found.damaged:
            return f"{len(found.damaged)} pictures are missing or damaged; make a new backup"
        return f"Found whole: the records and {found.pictures} pictures"

    def _is_due(self, settings: BackupSettings) -> bool:
        made = [at for name in settings.checked if (at := moment_of(name)) is not None]
        return is_due(
            self._now(),
            settings.daily_at,
            last_made=max(made, default=None),
            failed_at=settings.failed_at,
        )

    def _stop_asked(self) -> None:
        if self._stopped.is_set():
            raise BackupStoppedError

    def _change(self, **changes: object) -> None:
        with self._lock:
            self._running = replace(self._running, **changes)  # type: ignore[arg-type]

    def _run(self) -> None:
        self._app.sweep_backup_work()
        while not self._ended.is_set():
            self._wake.wait(self._looks_every_s)
            self._wake.clear()
            while not self._ended.is_set():
                try:
                    self.look()
                except ChordlineError as error:
                    _log.warning("backup: %s", error)
                except Exception:  # the server must live on
                    _log.exception("backing up failed")
                with self._lock:
                    if not self._asked:
                        break


class _Steps:
    """Tells of pictures; implements `Progress`."""

    def __init__(self, change: Callable[..., None]) -> None:
        self._change = change
        self._done = 0

    def start(self, total: int) -> None:
        self._done = 0
        self._change(done=0, total=total)

    def step(self, label: str) -> None:  # noqa: ARG002
        self._done += 1
        self._change(done=self._done)
