"""Whose photo it is, as far as the card in it, its file name and the coach tell."""

import re
from collections.abc import Sequence

from chordline.application.club.gymnast_book import GymnastBook
from chordline.application.club.records import GymnastRecord
from chordline.application.folder import Named
from chordline.errors import RefusedInputError

#: How a gymnast is written where she is chosen from a list: two may have one name.
_WITH_CARD = re.compile(r"(?:.*\bcard\s+)?(\d{1,4})", re.IGNORECASE)


def find_whose(
    gymnasts: GymnastBook, club_id: int, *, named: Named, cards_seen: Sequence[int]
) -> GymnastRecord | str:
    """Return the gymnast, or the reason why that cannot be told.

    Parameters
    ----------
    gymnasts : GymnastBook
    club_id : int
    named : Named
        What the photo's file name tells.
    cards_seen : sequence of int
        Numbers of the cards in the picture.

    Notes
    -----
    The card in the picture comes before the file name. Where both tell of a card and contradict
    each other nothing is decided.
    """
    number = int(named.rest) if named.rest.isdigit() and len(named.rest) <= 3 else None
    if cards_seen:
        # The wall's card and the wrist's may both stand in the picture.
        return _of_cards(gymnasts, club_id, tuple(dict.fromkeys(cards_seen)), number)
    if number is not None:
        return gymnasts.with_card(club_id, number) or _nobodys(number)
    if named.rest:
        called = [one for one in gymnasts.named(club_id, named.rest) if one.archived_at is None]
        if len(called) == 1:
            return called[0]
        if called:
            return f"{len(called)} gymnasts are called {called[0].name}; choose whose photo it is"
    return "no card was found in the picture; choose whose photo it is"


def find_meant(gymnasts: GymnastBook, club_id: int, text: str) -> GymnastRecord:
    """Return the gymnast whom a coach means by a card number or a name.

    Parameters
    ----------
    gymnasts : GymnastBook
    club_id : int
    text : str
        Such as ``12``, ``card 12``, ``Mila Berg`` or ``Mila Berg, card 12``.

    Raises
    ------
    RefusedInputError
        Where that means nobody, or several.
    """
    told = " ".join(text.split())
    called = [one for one in gymnasts.named(club_id, told) if one.archived_at is None]
    if len(called) == 1:
        return called[0]
    if called:
        raise RefusedInputError(
            f"{len(called)} gymnasts are called {called[0].name}; type her card number"
        )
    match = _WITH_CARD.fullmatch(told)
    if match is None:
        raise RefusedInputError(
            f"nobody is called '{told[:100]}'; type her card number, or her name as in the roster"
        )
    holder = gymnasts.with_card(club_id, int(match[1]))
    if holder is None:
        raise RefusedInputError(f"card {match[1]} is nobody's in the roster")
    return holder


def _of_cards(
    gymnasts: GymnastBook, club_id: int, cards_seen: Sequence[int], number: int | None
) -> GymnastRecord | str:
    if number is not None and number not in cards_seen:
        return (
            f"its name says card {number}, the picture shows card {cards_seen[0]}; "
            "choose whose photo it is"
        )
    candidates = cards_seen if number is None else (number,)
    holders = [one for card in candidates if (one := gymnasts.with_card(club_id, card)) is not None]
    if len(holders) == 1:
        return holders[0]
    if holders:
        seen = " and ".join(map(str, cards_seen))
        return f"cards {seen} stand in the picture; choose whose photo it is"
    return _nobodys(candidates[0])


def _nobodys(card: int) -> str:
    return (
        f"card {card} is nobody's in the roster; give it to a gymnast, or choose whose photo it is"
    )
