"""Prints receipts of erasing."""

from typing import Final

from chordline.adapters.printing.paper import set_paper
from chordline.application.club.erase_her import EraseReceipt

_TYPST: Final = ("common.typ", "receipt.typ")


def receipt_to_pdf(receipt: EraseReceipt) -> bytes:
    """Return a receipt as one A4 page."""
    return set_paper(receipt, title=f"Receipt: {receipt.club}", templates=_TYPST)
