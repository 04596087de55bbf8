"""Keys of pictures and what keeps them, as protocols."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Literal, Protocol

#: The club key lies beside the pictures; a passphrase is needed; it was given.
VaultState = Literal["by_file", "locked", "open"]
#: What has a file of its own in the store.
Holder = Literal["photo", "video"]


@dataclass(frozen=True)
class WrappedKey:
    """A data key as the records hold it: under the club key.

    Attributes
    ----------
    id : str
        32 hexadecimal figures; stands in the names of the files that it opens.
    club_id : int
    gymnast_id : int or None
        Whose pictures it opens; None = pictures of which nobody knows yet whose they are.
    wrapped : bytes
    made_at : datetime
    """

    id: str
    club_id: int
    gymnast_id: int | None
    wrapped: bytes
    made_at: datetime


@dataclass(frozen=True)
class Misplaced:
    """A file that is not, or not under its gymnast's key, encrypted.

    Attributes
    ----------
    holder, id
        Which photo or video.
    club_id : int
    content_key : str
        Its key in the store.
    gymnast_id : int or None
        Whose it is.
    """

    holder: Holder
    id: int
    club_id: int
    content_key: str
    gymnast_id: int | None


class KeyBook(Protocol):
    """Wrapped keys."""

    def of(self, club_id: int, gymnast_id: int | None) -> WrappedKey | None:
        """Return a gymnast's key, or the one for pictures of nobody yet; it stays until the end."""
        ...

    def get(self, key_id: str) -> WrappedKey | None:
        """Return a key; None where it was erased."""
        ...

    def add(
        self,
        club_id: int,
        gymnast_id: int | None,
        *,
        key_id: str,
        wrapped: bytes,
        made_at: datetime | None = None,
    ) -> WrappedKey:
        """Keep a key, and return the one that counts: somebody may have been quicker."""
        ...

    def all(self, club_id: int) -> tuple[WrappedKey, ...]:
        """Return every key of a club, the oldest first."""
        ...

    def retire_unfiled(self, club_id: int) -> bool:
        """Remove the key for pictures of nobody yet where none uses it; return whether."""
        ...

    def misplaced(
        self, club_id: int, holder: Holder, *, after: int = 0, limit: int = 100
    ) -> tuple[Misplaced, ...]:
        """Return files that are not under the right key, by id."""
        ...

    def misplaced_one(self, holder: Holder, id: int) -> Misplaced | None:
        """Return a photo's or video's file where it is not under the right key."""
        ...

    def count_misplaced(self, club_id: int) -> int:
        """Return how many files are not under the right key."""
        ...

    def content_keys(self, club_id: int) -> frozenset[str]:
        """Return the content key of every photo and video that has a file."""
        ...

    def replace(self, one: Misplaced, content_key: str) -> bool:
        """Say where a file is now; False, and nothing changed, where that was said meanwhile."""
        ...


class Vault(Protocol):
    """The club key and what it opens."""

    @property
    def state(self) -> VaultState:
        """How the club key is kept, and whether it is at hand."""
        ...

    @property
    def locked(self) -> bool:
        """Whether nothing can be opened until somebody unlocks."""
        ...

    def opens(self) -> bool:
        """Return whether pictures can be opened; somebody at a terminal is asked."""
        ...

    @property
    def sheet_printed_on(self) -> date | None:
        """The day of the recovery sheet that opens now."""
        ...

    def unlock(self, passphrase: str) -> None:
        """Unlock; raise `WrongSecretError` for a wrong passphrase."""
        ...

    def unlock_with_code(self, typed: str) -> None:
        """Unlock with the recovery code; raise `WrongSecretError` for a typo or another code."""
        ...

    def lock(self) -> None:
        """Let go of every key."""
        ...

    def stop_asking(self) -> None:
        """Ask nobody at the terminal from now on."""
        ...

    def set_passphrase(self, passphrase: str) -> None:
        """Put the club key under a passphrase, or under another one; pictures stay as they are."""
        ...

    def remove_passphrase(self) -> None:
        """Let the club key lie beside the pictures again."""
        ...

    def new_recovery_code(self, *, day: date) -> str:
        """Return a new recovery code, kept nowhere; the one before opens no more."""
        ...

    def make_key(self, key_id: str) -> bytes:
        """Return a new data key, wrapped."""
        ...

    def data_key(self, key_id: str, find: Callable[[], bytes | None]) -> bytes | None:
        """Return a data key; None where `find`, which returns it wrapped, finds none."""
        ...

    def forget_data_keys(self) -> None:
        """Let go of the data keys; those that are still in the records are opened again."""
        ...

    def seal_of(self, text: bytes) -> bytes:
        """Return what proves that a text was written by somebody with the club key."""
        ...


@dataclass(frozen=True)
class RingImport:
    """What came of a ring: how many keys were taken, and those whose gymnast is no more."""

    taken: int
    left_out: Sequence[str]
