"""LiteRT announces its delegate on standard error from C++, where no setting reaches it."""

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def without_announcements() -> Iterator[None]:
    """Send what native code writes to standard error nowhere while the block runs.

    Python's own messages are flushed first and are not lost; nothing is silenced where the process
    has no standard error.
    """
    try:
        sys.stderr.flush()
        kept = os.dup(2)
    except (OSError, ValueError, AttributeError):
        yield
        return
    nowhere = os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(nowhere, 2)
        yield
    finally:
        os.dup2(kept, 2)
        os.close(kept)
        os.close(nowhere)
