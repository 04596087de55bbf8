"""Passwords as Argon2id hashes: implements `Hasher`."""

import threading

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError

#: RFC 9106, 4, second recommended option: 3 passes, 4 lanes, 64 MiB, salt of 128 and tag of 256
#: bits. OWASP (Password Storage Cheat Sheet) asks for 19 MiB, 2 passes and 1 lane at least.
PASSES = 3
LANES = 4
MEMORY_KIB = 65536
#: So many at once; more would let many tries eat the memory of a small machine (assumption).
_AT_ONCE = 2


class ArgonHasher:
    """Keeps passwords so that nobody can read them back."""

    def __init__(
        self, *, passes: int = PASSES, memory_kib: int = MEMORY_KIB, lanes: int = LANES
    ) -> None:
        self._hasher = PasswordHasher(
            time_cost=passes, memory_cost=memory_kib, parallelism=lanes, hash_len=32, salt_len=16
        )
        self._room = threading.BoundedSemaphore(_AT_ONCE)

    def hash(self, password: str) -> str:
        """Return what is kept of a password; settings and salt stand in it."""
        with self._room:
            return self._hasher.hash(password)

    def fits(self, kept: str, password: str) -> bool:
        """Return whether a password is the one that was kept."""
        try:
            with self._room:
                return self._hasher.verify(kept, password)
        except (VerificationError, InvalidHashError):
            return False

    def is_old(self, kept: str) -> bool:
        """Return whether it was kept with other settings than today's."""
        return self._hasher.check_needs_rehash(kept)
