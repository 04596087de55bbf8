"""Files between their preview and their import; nothing of them is on disk."""

import threading
from collections import OrderedDict
from uuid import uuid4

#: So many are kept; the oldest goes first. A roster is small, and an import takes a minute.
_MOST = 20


class Staged:
    """Keeps the last few files that were shown and not yet imported."""

    def __init__(self) -> None:
        self._files: OrderedDict[str, tuple[str, bytes]] = OrderedDict()
        self._lock = threading.Lock()

    def keep(self, name: str, data: bytes) -> str:
        """Keep a file and return the word under which it is asked for again."""
        token = uuid4().hex
        with self._lock:
            self._files[token] = (name, data)
            while len(self._files) > _MOST:
                self._files.popitem(last=False)
        return token

    def get(self, token: str) -> tuple[str, bytes] | None:
        """Return a file's name and bytes, None where it is kept no more."""
        with self._lock:
            return self._files.get(token)
