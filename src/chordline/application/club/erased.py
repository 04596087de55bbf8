"""Who was erased, as records and as a book."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Protocol


@dataclass(frozen=True)
class Erased:
    """Somebody who was erased.

    Attributes
    ----------
    gymnast_number : int
        The number that she had in the records.
    erased_at : datetime
    by : str
        Name of an account, or ``this machine``.
    """

    gymnast_number: int
    erased_at: datetime
    by: str


class ErasedBook(Protocol):
    """Who was erased, and everything that is kept of somebody who may be next."""

    def note(self, gymnast_number: int, *, by: str) -> Erased:
        """Write down that a gymnast is erased now."""
        ...

    def learn(self, known: Sequence[Erased]) -> None:
        """Write down who was erased as far as it is not known yet, e.g. from newer records."""
        ...

    def all(self) -> tuple[Erased, ...]:
        """Return everybody who was erased, the first first."""
        ...

    def still_there(self) -> tuple[int, ...]:
        """Return the numbers of those who were erased and stand in the records all the same.

        Somebody who came after that moment and was given the same number is not meant.
        """
        ...

    def rows_of(self, gymnast_id: int) -> Mapping[str, tuple[Mapping[str, Any], ...]]:
        """Return every row that belongs to a gymnast, by table; her keys are left out."""
        ...
