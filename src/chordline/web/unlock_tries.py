"""Wrong passphrases take longer and longer to be tried again."""

import threading
import time
from collections.abc import Callable

#: Typing errors are free.
_FREE = 3
#: Doubled from one second on, up to this [s]: assumption. A hundred guesses then take more than an
#: hour; the coach who mistyped waits a minute at most.
_LONGEST_S = 60.0


class UnlockTries:
    """Counts the wrong tries of everybody together: there is one lock.

    Parameters
    ----------
    clock : callable
        Gives seconds that only grow.

    Attributes
    ----------
    opened_by_code : bool
        Whether the recovery code opened it, and no passphrase was set since.
    """

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock = clock
        self._lock = threading.Lock()
        self._wrong = 0
        self._again_at = 0.0
        self.opened_by_code = False

    def wait_s(self) -> float:
        """Return how long to wait before the next try [s]; 0 = now.

        Where it is 0 the next try counts as wrong until `worked` says otherwise: many at once must
        not all be free.
        """
        with self._lock:
            now = self._clock()
            if now < self._again_at:
                return self._again_at - now
            self._wrong += 1
            if self._wrong >= _FREE:
                self._again_at = now + min(_LONGEST_S, 2.0 ** (self._wrong - _FREE))
            return 0.0

    def worked(self, *, by_code: bool = False) -> None:
        """Forget the wrong tries."""
        with self._lock:
            self._wrong, self._again_at = 0, 0.0
            self.opened_by_code = by_code

    def was_a_typo(self) -> None:
        """Take the last try back: it could not have been a guess."""
        with self._lock:
            self._wrong = max(0, self._wrong - 1)
            self._again_at = 0.0 if self._wrong < _FREE else self._again_at
