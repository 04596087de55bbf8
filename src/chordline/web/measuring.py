"""The worker of a running server: measures what waits, photos before videos."""

import logging
import threading
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass

from chordline.application.club.measure_stored import WorkedOff, WorkOff
from chordline.errors import ChordlineError
from chordline.web.in_background import InBackground

_log = logging.getLogger(__name__)

#: How often it looks by itself, should nobody have woken it [s].
_LOOKS_EVERY_S = 2.0
_WORKER = "server"
#: So many photos are told of as measured last.
_RECENT = 12


@dataclass(frozen=True)
class Told:
    """One photo that was just measured: its id, name, state and the reason for a look."""

    photo_id: int
    name: str
    state: str
    reason: str | None


class Measuring(InBackground):
    """Measures waiting photos and videos in a thread of its own until told to stop.

    Everything that it does is in the records: stopped or killed at any moment, it goes on from
    there when the server starts again.
    """

    def __init__(
        self,
        make_work: Callable[[Callable[[WorkedOff], None]], WorkOff],
        interrupt: Callable[[], None] = lambda: None,
    ) -> None:
        """Take the parts.

        Parameters
        ----------
        make_work : callable
            Makes the work; it gets what is told of the photos that are done while a video is.
        interrupt : callable, optional
            Lets a video end at its next frames; it goes on at the next start.
        """
        super().__init__("measuring", stops_within_s=30.0)
        self._make_work = make_work
        self._interrupt = interrupt
        self._wake = threading.Event()
        self._paused = threading.Event()
        self._recent: deque[Told] = deque(maxlen=_RECENT)
        self._done = 0

    def stop(self) -> None:
        """End after the photo that is being measured now; a video goes on at the next start."""
        self._ended.set()
        self._wake.set()
        self._interrupt()
        super().stop()

    def wake(self) -> None:
        """Say that something waits."""
        self._wake.set()

    def pause(self) -> None:
        """Measure nothing more until told to go on; what waits is kept."""
        self._paused.set()

    def go_on(self) -> None:
        """Undo `pause`."""
        self._paused.clear()
        self._wake.set()

    @property
    def paused(self) -> bool:
        """Whether it was told to pause."""
        return self._paused.is_set()

    @property
    def done(self) -> int:
        """How many photos were measured since the server started."""
        return self._done

    @property
    def recent(self) -> tuple[Told, ...]:
        """The photos measured last, the latest first."""
        return tuple(self._recent)

    def _run(self) -> None:
        while not self._ended.is_set():
            busy = False
            if not self._paused.is_set():
                try:
                    # Made anew each time: the errors in use may have changed meanwhile.
                    busy = self._step(self._make_work(self._tell))
                except ChordlineError as error:
                    _log.warning("measuring: %s", error)
                except Exception:  # the server must live on; the job is taken up again
                    _log.exception("measuring failed")
            if not busy:
                self._wake.wait(_LOOKS_EVERY_S)
                self._wake.clear()

    def _step(self, work: WorkOff) -> bool:
        done = work(_WORKER)
        if done is None:
            return False
        self._tell(done)
        return True

    def _tell(self, done: WorkedOff) -> None:
        if done.job.video_id is not None:
            return
        self._done += 1
        if done.photo is not None:
            photo = done.photo
            self._recent.appendleft(Told(photo.id, photo.name, photo.state, photo.reason))
