"""Where pictures are kept, as a protocol."""

from collections.abc import Iterator
from typing import BinaryIO, Protocol


class PhotoStore(Protocol):
    """Keeps pictures under keys that it gives itself; no name from outside reaches it.

    A key says how its picture is kept (``plain-…``), so that another way, such as encryption, can
    stand beside the first and take over photo by photo.
    """

    def put(self, content: bytes) -> str:
        """Keep a picture and return its key; once this returns, a kill does not lose it.

        The same bytes give the same key and are kept once.
        """
        ...

    def put_file(self, content: BinaryIO) -> str:
        """Keep a file of any length, read to its end piece by piece; otherwise as `put`."""
        ...

    def open(self, key: str) -> bytes:
        """Return a picture; raise `PhotoStoreError` where it is missing or damaged."""
        ...

    def open_file(self, key: str) -> BinaryIO:
        """Return a file to be read from and sought in, such as a video; raise as `open` does."""
        ...

    def has(self, key: str) -> bool:
        """Return whether there is a picture under a key."""
        ...

    def delete(self, key: str) -> bool:
        """Remove a picture for good; return whether it was there."""
        ...

    def keys(self) -> Iterator[str]:
        """Yield every key."""
        ...
