"""A group of the club and its gymnasts by the names that a command gives."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from typing import Annotated

import typer

from chordline.application.club.names import name_key
from chordline.application.club.ports import Tx
from chordline.application.club.records import Group
from chordline.application.training.members import Member, read_members
from chordline.bootstrap import App, build_app
from chordline.errors import WrongUseError

GroupArgument = Annotated[str, typer.Argument(metavar="GROUP", help="A group of the roster.")]


@contextmanager
def open_group(data: Path | None, name: str) -> Iterator[tuple[App, Group]]:
    """Open the records; yield the application and the group of a name."""
    opened = build_app(data=data)
    try:
        with opened.records.reading() as tx:
            group = find_named(tx, opened.club().id, name)
        yield opened, group
    finally:
        opened.records.close()


def find_named(tx: Tx, club_id: int, name: str) -> Group:
    """Return the group of a name, whatever its case and accents.

    Raises
    ------
    WrongUseError
        With the groups that there are.
    """
    groups = tx.clubs.groups(club_id)
    found = next((one for one in groups if name_key(one.name) == name_key(name)), None)
    if found is None:
        known = ", ".join(one.name for one in groups) or "none yet"
        raise WrongUseError(f"there is no group '{name}'; the groups are: {known}")
    return found


def members_of(app: App, group: Group, today: date) -> tuple[Member, ...]:
    """Return the gymnasts of a group, by name."""
    with app.records.reading() as tx:
        return read_members(tx, group, today=today, catalogue=app.catalogue)


def member_called(said: str, members: Sequence[Member], group: Group) -> Member:
    """Return the gymnast of a card number or a name.

    A first name is enough where only one has it.

    Raises
    ------
    WrongUseError
        Where none or several are meant.
    """
    key = name_key(said)
    exact = [
        one
        for one in members
        if name_key(one.gymnast.name) == key or str(one.gymnast.card) == said.strip()
    ]
    begun = [one for one in members if name_key(one.gymnast.name).startswith(f"{key} ")]
    found = exact or begun
    if len(found) == 1:
        return found[0]
    listed = ", ".join(one.gymnast.name for one in found or members) or "nobody"
    if found:
        raise WrongUseError(f"'{said}' may be {listed}; write the whole name or the card number")
    raise WrongUseError(f"nobody in {group.name} is called '{said}'; in it are: {listed}")


def read_date(said: str, of: str) -> date:
    """Return a day; raise `WrongUseError` where it is none."""
    try:
        return date.fromisoformat(said)
    except ValueError:
        raise WrongUseError(f"{of} '{said}' is no day; write it as 2026-11-25") from None
