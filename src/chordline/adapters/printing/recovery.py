"""Prints recovery sheets; implements `application.club.recovery_sheet.RecoveryPress`."""

from typing import Final

from chordline.adapters.printing.page import render_page
from chordline.adapters.printing.paper import set_paper
from chordline.application.club.recovery_sheet import RecoverySheet

_STYLES: Final = ("base.css", "recovery.css")
_TYPST: Final = ("common.typ", "recovery.typ")


class RecoverySheetPress:
    """Prints recovery sheets."""

    def to_html(self, sheet: RecoverySheet) -> str:
        """Return one self-contained HTML page; nothing in it asks the network."""
        return render_page("recovery.html", sheet, styles=_STYLES)

    def to_pdf(self, sheet: RecoverySheet) -> bytes:
        """Return an A4 PDF."""
        return set_paper(sheet, title=f"Recovery sheet: {sheet.club}", templates=_TYPST)
