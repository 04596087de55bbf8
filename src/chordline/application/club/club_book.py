"""Clubs and their groups in the records, as a protocol."""

from collections.abc import Sequence
from typing import Protocol

from chordline.application.club.records import Club, Group


class ClubBook(Protocol):
    """Clubs and their groups."""

    def add(self, name: str) -> Club:
        """Found a club; raise `TakenError` where there is one of that name."""
        ...

    def rename(self, club_id: int, name: str) -> Club:
        """Give a club another name; raise `TakenError` where another club has it."""
        ...

    def all(self) -> tuple[Club, ...]:
        """Return every club, the oldest first."""
        ...

    def add_group(self, club_id: int, name: str) -> Group:
        """Make a group; raise `TakenError` where the club has one of that name."""
        ...

    def rename_group(self, group_id: int, name: str) -> Group:
        """Give a group another name."""
        ...

    def remove_group(self, group_id: int) -> None:
        """Remove a group; its gymnasts stay."""
        ...

    def groups(self, club_id: int) -> tuple[Group, ...]:
        """Return the groups of a club by name, with their sizes."""
        ...

    def put_in_group(self, group_id: int, gymnast_ids: Sequence[int]) -> None:
        """Put gymnasts into a group; those who are in it already stay."""
        ...

    def take_out_of_group(self, group_id: int, gymnast_ids: Sequence[int]) -> None:
        """Take gymnasts out of a group."""
        ...
