"""Where pictures are kept, as a protocol."""

from collections.abc import Iterator
from typing import BinaryIO, Protocol

from chordline.application.club.vault_ports import KeyBook


class PhotoStore(Protocol):
    """Keeps pictures encrypted, under keys that it gives itself; no name from outside reaches it.

    A key says how its picture is kept: ``sealed-ID of the data key-random``, or ``plain-…`` for one
    of before there was a vault. Every method that needs a data key raises `VaultLockedError` while
    the vault is locked.
    """

    def key_for(self, keys: KeyBook, club_id: int, gymnast_id: int | None) -> str:
        """Return the id of the key for a gymnast's pictures, or for those of nobody yet (None).

        It is made where there is none. To be called in the transaction that files what is put
        under it.
        """
        ...

    def put(self, content: bytes, key_id: str | None = None) -> str:
        """Keep a picture and return its key; once this returns, a kill does not lose it.

        Without `key_id` it is kept under the key for pictures of nobody yet, which takes a
        transaction of its own: not to be done within another. The same bytes given twice are kept
        twice.
        """
        ...

    def put_file(self, content: BinaryIO, key_id: str | None = None) -> str:
        """Keep a file of any length, read to its end piece by piece; otherwise as `put`."""
        ...

    def in_use(self, key_id: str) -> bool:
        """Return whether a picture under a data key is there, or any is being written now."""
        ...

    def forget_keys(self) -> None:
        """Let go of data keys that are held in memory; after some were erased."""
        ...

    def reseal(self, key: str, key_id: str) -> str:
        """Keep a picture under another data key as well; return the key of the new one."""
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

    def keys(self, *, older_than_s: float = 0.0) -> Iterator[str]:
        """Yield the key of everything that was written so long ago [s]."""
        ...
