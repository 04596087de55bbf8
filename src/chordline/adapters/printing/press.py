"""The press: one sheet in, page or paper out."""

from chordline.adapters.printing.sheet_html import render_html
from chordline.adapters.printing.sheet_pdf import render_pdf
from chordline.adapters.printing.sheet_view import view_sheet
from chordline.application.sheet import GymnastSheet


class SheetPress:
    """Prints a gymnast's sheet; implements `application.sheet.SheetPrinter`."""

    def to_html(self, sheet: GymnastSheet) -> str:
        """Return one self-contained HTML page; nothing in it asks the network."""
        return render_html(view_sheet(sheet))

    def to_pdf(self, sheet: GymnastSheet) -> bytes:
        """Return an A4 PDF; the same sheet gives the same bytes."""
        return render_pdf(view_sheet(sheet))
