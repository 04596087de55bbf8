"""The press: one sheet in, page or paper out."""

from typing import Final

from chordline.adapters.printing.page import render_page
from chordline.adapters.printing.paper import set_paper
from chordline.adapters.printing.sheet_view import view_sheet
from chordline.adapters.printing.squad_view import view_squad
from chordline.application.sheet import GymnastSheet
from chordline.application.squad_sheet import SquadSheet

_SHEET_STYLES: Final = ("base.css", "sheet.css", "findings.css", "forecast.css", "sheet_print.css")
_SHEET_TYPST: Final = ("common.typ", "findings.typ", "forecast.typ", "sheet.typ")
_SQUAD_STYLES: Final = ("base.css", "squad.css")
_SQUAD_TYPST: Final = ("common.typ", "squad.typ")


class SheetPress:
    """Prints sheets; implements `application.sheet.SheetPrinter`."""

    def to_html(self, sheet: GymnastSheet) -> str:
        """Return one self-contained HTML page; nothing in it asks the network."""
        return render_page("sheet.html", view_sheet(sheet), styles=_SHEET_STYLES)

    def to_pdf(self, sheet: GymnastSheet) -> bytes:
        """Return an A4 PDF; the same sheet gives the same bytes."""
        view = view_sheet(sheet)
        return set_paper(view, title=f"Body line: {view.gymnast}", templates=_SHEET_TYPST)

    def squad_to_html(self, sheet: SquadSheet) -> str:
        """Return the squad as one self-contained page; its only links are the gymnasts' pages."""
        return render_page("squad.html", view_squad(sheet), styles=_SQUAD_STYLES)

    def squad_to_pdf(self, sheet: SquadSheet) -> bytes:
        """Return the squad as an A4 PDF, across; the same sheet gives the same bytes."""
        view = view_squad(sheet)
        return set_paper(view, title=f"Squad: {view.squad}", templates=_SQUAD_TYPST)
