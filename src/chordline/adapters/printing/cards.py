"""Printed cards: what stands in the picture to say who she is and how large a metre is."""

import json
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from functools import cache
from importlib.resources import files
from typing import Final, Literal, get_args

import typst

from chordline.adapters.media.card_reader import card_bits
from chordline.adapters.printing.palette import LIGHT
from chordline.conventions import CARD_FOOT_M, CARD_SIDE_M
from chordline.errors import WrongUseError

Layout = Literal["stand", "small"]

#: Side of the black square of a small card, for a wrist or a board [m].
SMALL_CARD_SIDE_M: Final = 0.04
#: Numbers that the dictionary holds.
CARD_NUMBERS: Final = range(1000)


@dataclass(frozen=True)
class CardOrder:
    """One card to print.

    Attributes
    ----------
    number : int
        0–999; the number that the picture will tell.
    name : str
        Printed on the name line. Empty by default: the line stays free for a pen, and no child's
        name need be in any file.
    """

    number: int
    name: str = ""


def print_cards(orders: Sequence[CardOrder], *, layout: Layout) -> bytes:
    """Return an A4 PDF of cards.

    Parameters
    ----------
    orders : sequence of CardOrder
        In the order in which they are printed; a number may come twice.
    layout : {"stand", "small"}
        ``stand``: one card a page, black square `CARD_SIDE_M`, its lower edge `CARD_FOOT_M` above
        the line on which the page is cut and stands. ``small``: twelve a page, black square
        `SMALL_CARD_SIDE_M`. A small card tells who she is; it gives the scale only to a reader that
        is told its size.

    Returns
    -------
    bytes
        A PDF; the same orders give the same bytes.

    Raises
    ------
    WrongUseError
        If there is nothing to print, a number is not 0–999, or the layout is unknown.
    """
    return _typeset(_check_orders(orders, layout), layout)


def preview_cards(
    orders: Sequence[CardOrder], *, layout: Layout, px_per_inch: float
) -> tuple[bytes, ...]:
    """Return the pages of `print_cards` as PNG pictures, one a page."""
    checked = _check_orders(orders, layout)
    pages = typst.compile(
        _source(),
        ignore_system_fonts=True,
        sys_inputs=_inputs(checked, layout),
        format="png",
        ppi=px_per_inch,
    )
    return (pages,) if isinstance(pages, bytes) else tuple(pages)


def _check_orders(orders: Sequence[CardOrder], layout: Layout) -> Sequence[CardOrder]:
    if layout not in get_args(Layout):
        known = " or ".join(get_args(Layout))
        raise WrongUseError(f"There is no card layout {layout!r}; choose {known}.")
    if not orders:
        raise WrongUseError("No card was asked for; name at least one number.")
    wrong = [order.number for order in orders if order.number not in CARD_NUMBERS]
    if wrong:
        listed = ", ".join(map(str, wrong))
        raise WrongUseError(f"Card numbers run from 0 to 999; there is no {listed}.")
    return orders


def _typeset(orders: Sequence[CardOrder], layout: Layout) -> bytes:
    pdf: bytes = typst.compile(
        _source(),
        ignore_system_fonts=True,
        sys_inputs=_inputs(orders, layout),
        timestamp=0,
        pdf_standards="ua-1",
    )
    return pdf


def _inputs(orders: Sequence[CardOrder], layout: Layout) -> dict[str, str]:
    """Return everything the template sets, as data: no name is ever read as markup."""
    data = {
        "layout": layout,
        "side_mm": 1000 * (CARD_SIDE_M if layout == "stand" else SMALL_CARD_SIDE_M),
        "foot_mm": 1000 * CARD_FOOT_M,
        "palette": asdict(LIGHT),
        "cards": [
            {
                "number": order.number,
                "name": " ".join(order.name.split()),
                "white": card_bits(order.number).astype(int).tolist(),
            }
            for order in orders
        ],
    }
    return {"data": json.dumps(data, ensure_ascii=False)}


@cache
def _source() -> bytes:
    return (files("chordline.adapters.printing") / "templates" / "cards.typ").read_bytes()
