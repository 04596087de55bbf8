"""Gymnasts in the records, as a protocol."""

from collections.abc import Sequence
from datetime import date
from typing import Protocol

from chordline.application.club.records import (
    BodySize,
    GymnastRecord,
    NewGymnast,
    NoteKind,
    NoteRecord,
)
from chordline.application.club.views import GymnastQuery, GymnastRow, GymnastView, Page, SquadRow


class GymnastBook(Protocol):
    """Gymnasts."""

    def add(self, club_id: int, new: NewGymnast) -> GymnastRecord:
        """Take a gymnast in; raise `TakenError` where her card is somebody else's."""
        ...

    def get(self, gymnast_id: int) -> GymnastRecord:
        """Return a gymnast or raise `NotThereError`."""
        ...

    def with_card(self, club_id: int, card: int) -> GymnastRecord | None:
        """Return the gymnast who has a card and is not archived."""
        ...

    def cards(self, club_id: int) -> frozenset[int]:
        """Return the cards of those who are not archived."""
        ...

    def give_cards(self, club_id: int, cards: Sequence[int]) -> int:
        """Give everybody without a card the first free one, by name; return how many got one."""
        ...

    def named(self, club_id: int, name: str) -> tuple[GymnastRecord, ...]:
        """Return everybody of a name, whatever its case and accents; archived ones too."""
        ...

    def update(self, changed: GymnastRecord) -> GymnastRecord:
        """Save name, card, birth date and consent.

        Raise `StaleGymnastError` where the record was changed since it was read.
        """
        ...

    def archive(self, gymnast_id: int) -> GymnastRecord:
        """Put a gymnast away; her records stay, her card becomes free."""
        ...

    def bring_back(self, gymnast_id: int) -> GymnastRecord:
        """Undo `archive`; raise `TakenError` where her card was given away meanwhile."""
        ...

    def erase(self, gymnast_id: int) -> tuple[str, ...]:
        """Remove a gymnast with everything of hers.

        Return the content keys that nothing needs any more, for the photo store to delete.
        """
        ...

    def add_size(self, gymnast_id: int, size: BodySize) -> BodySize:
        """Keep what was measured on a day; a second entry of that day adds to it or corrects it."""
        ...

    def add_note(
        self,
        gymnast_id: int,
        *,
        noted_on: date,
        kind: NoteKind,
        text: str,
        author: str,
        flag: str | None = None,
    ) -> NoteRecord:
        """Keep a note."""
        ...

    def sizes(self, gymnast_id: int) -> tuple[BodySize, ...]:
        """Return what was measured of her body, the first day first."""
        ...

    def notes(self, gymnast_id: int) -> tuple[NoteRecord, ...]:
        """Return her notes, the first first; closed ones too."""
        ...

    def close_note(self, note_id: int, closed_on: date | None) -> NoteRecord:
        """Say since when a note holds no more; None opens it again."""
        ...

    def page(self, query: GymnastQuery) -> Page[GymnastRow]:
        """Return a page of gymnasts."""
        ...

    def squad(self, query: GymnastQuery) -> Page[SquadRow]:
        """Return a page of gymnasts with their latest findings."""
        ...

    def view(self, gymnast_id: int, *, screens: int = 12) -> GymnastView:
        """Return a gymnast with her latest screens and all in them."""
        ...
