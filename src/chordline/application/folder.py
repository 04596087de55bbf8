"""What a folder of photos holds, and to whom and to which test each photo belongs."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Protocol

from chordline.application.marks import HandMarks
from chordline.conventions import Front, Side


@dataclass(frozen=True)
class Gymnast:
    """One line of the roster; everything but a name or a card may be missing.

    Attributes
    ----------
    name : str
    card : int or None
    birth_date : str
        ISO date, or empty.
    stature_cm, mass_kg, sitting_height_cm : float or None
    """

    name: str
    card: int | None = None
    birth_date: str = ""
    stature_cm: float | None = None
    mass_kg: float | None = None
    sitting_height_cm: float | None = None


@dataclass(frozen=True)
class ScreenRow:
    """One line of `screen.csv`: what the coach says of a photo. None = not said."""

    photo: str
    gymnast: str | None = None
    test: str | None = None
    near_side: Side | None = None
    front: Front | None = None
    person: int | None = None


@dataclass(frozen=True)
class HoldRow:
    """One line of `holds.csv`: seconds that a gymnast held a test's shape."""

    gymnast: str
    test: str
    seconds: float
    reached_cap: bool


@dataclass(frozen=True)
class FlagRow:
    """One line of `flags.csv`: a sign that a gymnast or her family reported."""

    gymnast: str
    flag: str


@dataclass(frozen=True)
class FolderContents:
    """A folder as it was found.

    Attributes
    ----------
    photos : tuple of Path
        Every file that may be a picture, in order of name.
    rows : mapping of file name to ScreenRow
    roster : tuple of Gymnast
    marks : mapping of file name to HandMarks
        From ``NAME.marks.json`` beside a photo.
    holds : tuple of HoldRow
    flags : tuple of FlagRow
    faults : tuple of (file, reason)
        Lines and files that could not be used.
    """

    photos: tuple[Path, ...]
    rows: Mapping[str, ScreenRow] = field(default_factory=dict)
    roster: tuple[Gymnast, ...] = ()
    marks: Mapping[str, HandMarks] = field(default_factory=dict)
    holds: tuple[HoldRow, ...] = ()
    flags: tuple[FlagRow, ...] = ()
    faults: tuple[tuple[str, str], ...] = ()


class FolderReader(Protocol):
    """Lists a folder."""

    def read(self, folder: Path) -> FolderContents:
        """Raise `RefusedInputError` where the folder cannot be read or holds no photo."""
        ...


@dataclass(frozen=True)
class Named:
    """What a file name tells: the test, and whatever else stands in it."""

    test: str | None
    rest: str

    @property
    def number(self) -> int | None:
        """The card number in the rest, where there is exactly one number."""
        numbers = re.findall(r"\d+", self.rest)
        return int(numbers[0]) if len(numbers) == 1 and len(numbers[0]) <= 3 else None


def read_file_name(name: str, tests: Sequence[str]) -> Named:
    """Return the test id and the rest of a photo's name.

    Examples
    --------
    >>> read_file_name("13_prone-overhead.jpg", ["prone-overhead", "prone-out"])
    Named(test='prone-overhead', rest='13')
    """
    stem = name.rpartition(".")[0] or name
    for test in sorted(tests, key=len, reverse=True):
        words = "[-_ ]?".join(map(re.escape, test.split("-")))
        pattern = rf"(?<![a-z]){words}(?![a-z])"
        match = re.search(pattern, stem, flags=re.IGNORECASE)
        if match:
            rest = stem[: match.start()] + " " + stem[match.end() :]
            return Named(test, re.sub(r"[\s_\-.]+", " ", rest).strip())
    return Named(None, re.sub(r"[\s_\-.]+", " ", stem).strip())


@dataclass(frozen=True)
class Owner:
    """Whose photo it is."""

    name: str
    card: int | None


def find_owner(
    *,
    row: ScreenRow | None,
    named: Named,
    cards_seen: Sequence[int],
    roster: Sequence[Gymnast],
) -> Owner | str:
    """Return whose photo it is, or the reason why that cannot be told.

    Notes
    -----
    The coach's word in `screen.csv` comes first, then the card in the picture, then the file
    name. A card and a file name that contradict each other are never decided here.
    """
    if row is not None and row.gymnast is not None:
        return owner_named(row.gymnast, roster, source="screen.csv")
    card = _card_of(named, cards_seen, roster)
    if isinstance(card, str):
        return card
    if card is not None:
        return _of_card(card, {one.card: one for one in roster if one.card is not None})
    if named.rest:
        return owner_named(named.rest, roster, source="its name")
    return "no card in the picture, and neither its name nor screen.csv says who she is"


def _card_of(
    named: Named, cards_seen: Sequence[int], roster: Sequence[Gymnast]
) -> int | str | None:
    """Return her card, None where no card stands in the picture, or what contradicts what."""
    if not cards_seen:
        return None
    given = {one.card for one in roster}
    known = [card for card in cards_seen if not roster or card in given]
    if named.number in known:
        return named.number
    if named.number is not None and named.number not in cards_seen:
        return (
            f"its name says card {named.number}, the picture shows card {cards_seen[0]}; "
            "rename it or name the gymnast in screen.csv"
        )
    if len(known) == 1:
        return known[0]
    if len(cards_seen) > 1:
        seen = ", ".join(map(str, cards_seen))
        return f"cards {seen} stand in the picture; name the gymnast in screen.csv"
    return f"card {cards_seen[0]} is not in gymnasts.csv"


def _of_card(card: int, by_card: Mapping[int, Gymnast]) -> Owner:
    gymnast = by_card.get(card)
    return Owner(gymnast.name if gymnast else f"Card {card}", card)


def owner_named(text: str, roster: Sequence[Gymnast], *, source: str) -> Owner | str:
    """Return the gymnast that a name or a card number means, or the reason why there is none."""
    by_name = {gymnast.name.casefold(): gymnast for gymnast in roster}
    gymnast = by_name.get(text.casefold())
    if gymnast is not None:
        return Owner(gymnast.name, gymnast.card)
    if text.isdigit():
        by_card = {g.card: g for g in roster if g.card is not None}
        if roster and int(text) not in by_card:
            return f"card {text} ({source}) is not in gymnasts.csv"
        return _of_card(int(text), by_card)
    if roster:
        return f"'{text}' ({source}) is not in gymnasts.csv"
    return Owner(text, None)
