"""What works beside the pages, in a thread of its own."""

import threading
from abc import ABC, abstractmethod


class InBackground(ABC):
    """Runs from `start` until `stop`; a kill at any moment must harm nothing."""

    def __init__(self, name: str, *, stops_within_s: float = 10.0) -> None:
        self._ended = threading.Event()
        self._stops_within_s = stops_within_s
        self._thread = threading.Thread(target=self._run, name=name, daemon=True)

    def start(self) -> None:
        """Begin."""
        self._thread.start()

    def stop(self) -> None:
        """End after the step that is being done now."""
        self._ended.set()
        if self._thread.is_alive():
            self._thread.join(timeout=self._stops_within_s)

    def join(self) -> None:
        """Wait until everything is done."""
        self._thread.join()

    @abstractmethod
    def _run(self) -> None:
        """Work, looking at `_ended` often."""
