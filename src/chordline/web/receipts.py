"""Receipts of erasing between their page and their paper: in memory, for a few minutes."""

import threading
import time
from collections.abc import Callable
from uuid import uuid4

#: Time to save or print a receipt [s].
KEPT_S = 15 * 60.0


class Receipts:
    """Keeps receipts until they are old; nothing of them is on disk."""

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock = clock
        self._lock = threading.Lock()
        self._kept: dict[str, tuple[float, str, bytes]] = {}

    def keep(self, name: str, pdf: bytes) -> str:
        """Keep a receipt and return the word under which it is asked for."""
        token = uuid4().hex
        with self._lock:
            self._forget_old()
            self._kept[token] = (self._clock(), name, pdf)
        return token

    def get(self, token: str) -> tuple[str, bytes] | None:
        """Return a receipt's file name and PDF; None where it is kept no more."""
        with self._lock:
            self._forget_old()
            found = self._kept.get(token)
        return None if found is None else (found[1], found[2])

    def _forget_old(self) -> None:
        now = self._clock()
        self._kept = {token: one for token, one in self._kept.items() if now - one[0] <= KEPT_S}
