"""The videos that are measured now: how far they are, and how they are stopped."""

import threading
from collections.abc import Callable
from dataclasses import dataclass

from chordline.errors import ChordlineError

#: Share of the work after which she is followed, and the rest is one frame.
_FOLLOWED = 0.9
FOLLOWS = "following her through the video"
MEASURES = "measuring her best moment"


class StoppedError(ChordlineError):
    """Measuring was called off; what was read so far is kept."""

    def __init__(self) -> None:
        super().__init__("measuring was stopped; what was read so far is kept")


@dataclass(frozen=True)
class Headway:
    """How far a video is: share of the work that is done (None = cannot tell), what is done now."""

    video_id: int
    share: float | None
    said: str


class Running:
    """The videos that are measured in this process now: readable and stoppable from any thread."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._now: dict[int, Watch] = {}

    def watch(self, video_id: int) -> "Watch":
        """Begin to tell of a video."""
        watch = Watch(video_id, self._end)
        with self._lock:
            self._now[video_id] = watch
        return watch

    def of(self, video_id: int) -> Headway | None:
        """Return how far a video is; None where it is not being measured here."""
        with self._lock:
            watch = self._now.get(video_id)
        return None if watch is None else watch.headway

    def stop(self, video_id: int) -> None:
        """Let a video's measuring end at its next frames."""
        with self._lock:
            watch = self._now.get(video_id)
        if watch is not None:
            watch.stop()

    def stop_all(self) -> None:
        """Let every measuring end at its next frames; the jobs go on later."""
        with self._lock:
            watches = list(self._now.values())
        for watch in watches:
            watch.stop()

    def _end(self, video_id: int) -> None:
        with self._lock:
            self._now.pop(video_id, None)


class Watch:
    """Implements `Progress` for one video."""

    def __init__(self, video_id: int, ended: Callable[[int], None]) -> None:
        self._video_id = video_id
        self._ended = ended
        self._stop = threading.Event()
        self._total = 0
        self._done = 0

    def __enter__(self) -> "Watch":
        return self

    def __exit__(self, *_: object) -> None:
        self._ended(self._video_id)

    @property
    def headway(self) -> Headway:
        """How far it is."""
        if not self._total:
            return Headway(self._video_id, None, FOLLOWS)
        share = min(self._done / self._total, 1.0)
        return Headway(self._video_id, _FOLLOWED * share, FOLLOWS if share < 1.0 else MEASURES)

    def stop(self) -> None:
        """Let it end."""
        self._stop.set()

    def start(self, total: int) -> None:
        """Say how many steps there will be."""
        self._total = total

    def step(self, label: str) -> None:  # noqa: ARG002
        """Say that one is done; raise `StoppedError` where it was called off."""
        self._done += 1
        self.check()

    def check(self) -> None:
        """Raise `StoppedError` where it was called off."""
        if self._stop.is_set():
            raise StoppedError
