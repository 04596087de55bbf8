"""`chordline cards`: the cards that stand in the pictures."""

from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from chordline.adapters.printing.cards import CardOrder, print_cards
from chordline.cli.console import remark
from chordline.errors import WrongUseError

MAX_CARD = 999


class Layout(StrEnum):
    """How the cards are laid out."""

    STAND = "stand"
    SMALL = "small"


def cards(
    numbers: Annotated[
        str, typer.Argument(metavar="NUMBERS", help="Card numbers, e.g. 1-24 or 3,7,11-16.")
    ],
    output: Annotated[Path, typer.Option("-o", "--output", metavar="FILE.pdf")] = Path("cards.pdf"),
    layout: Annotated[
        Layout,
        typer.Option(
            "--layout", help="stand: one a page for the floor; small: for wrist or board."
        ),
    ] = Layout.STAND,
) -> None:
    """Print cards: who she is, the scale and the phone's place, read from the picture."""
    orders = [CardOrder(number) for number in parse_numbers(numbers)]
    output.write_bytes(print_cards(orders, layout=layout.value))
    remark(f"{len(orders)} cards in {output}. Print at 100 % (actual size), not 'fit to page'.")


def parse_numbers(text: str) -> list[int]:
    """Return the numbers of a list such as ``3,7,11-16``, in order and once each.

    Raises
    ------
    WrongUseError
        For anything else, or numbers beyond 0 to 999.
    """
    numbers: list[int] = []
    for part in text.split(","):
        first, dash, last = part.strip().partition("-")
        if not first.isdigit() or (dash and not last.isdigit()):
            raise WrongUseError(f"'{part.strip()}' is no card number; write 7 or 1-24 or 3,7,11-16")
        low, high = int(first), int(last) if dash else int(first)
        if not low <= high <= MAX_CARD:
            raise WrongUseError(f"'{part.strip()}': card numbers run from 0 to {MAX_CARD}")
        numbers += range(low, high + 1)
    return list(dict.fromkeys(numbers))
