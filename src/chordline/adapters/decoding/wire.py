"""Messages between this process and one that decodes: a JSON object, then bytes.

Nothing that a decoder says is unpickled, run or believed: it is checked and copied.
"""

import json
import struct
from typing import Any, BinaryIO, Final

_SIZES: Final = struct.Struct("<IQ")
#: Longest JSON object of a message [bytes].
MOST_SAID_BYTES: Final = 100_000


class BrokenOffError(Exception):
    """The other side is gone, or says what cannot be."""


def send(pipe: BinaryIO, said: dict[str, Any], content: bytes | memoryview = b"") -> None:
    """Write one message; raise `BrokenOffError` where nobody reads."""
    head = json.dumps(said).encode()
    try:
        pipe.write(_SIZES.pack(len(head), len(content)))
        pipe.write(head)
        if content:
            pipe.write(content)
        pipe.flush()
    except (OSError, ValueError):
        raise BrokenOffError from None


def receive(pipe: BinaryIO, *, most_bytes: int) -> tuple[dict[str, Any], bytes]:
    """Read one message with at most so many bytes of content, or raise `BrokenOffError`."""
    said_size, content_size = _SIZES.unpack(_read_all(pipe, _SIZES.size))
    if said_size > MOST_SAID_BYTES or content_size > most_bytes:
        raise BrokenOffError
    try:
        said = json.loads(_read_all(pipe, said_size))
    except (ValueError, RecursionError):
        raise BrokenOffError from None
    if not isinstance(said, dict):
        raise BrokenOffError
    return said, _read_all(pipe, content_size)


def _read_all(pipe: BinaryIO, size: int) -> bytes:
    try:
        found = pipe.read(size)
    except (OSError, ValueError):
        raise BrokenOffError from None
    if found is None or len(found) != size:
        raise BrokenOffError
    return found
