"""A gymnast's sheet on A4, set by typst."""

import json
from dataclasses import asdict
from functools import cache
from importlib.resources import files

import typst

from chordline.adapters.printing.palette import LIGHT
from chordline.adapters.printing.sheet_view import SheetView


def render_pdf(view: SheetView) -> bytes:
    """Return the sheet as a tagged PDF (PDF/UA-1).

    Everything reaches typst as JSON data, pictures inside their drawings: no text is ever read
    as markup, and no picture of a child is written to a file on the way. Only fonts that typst
    carries are used and the document is not stamped with a time, so the same sheet gives the same
    bytes on every machine.
    """
    data = json.dumps({"sheet": asdict(view), "palette": asdict(LIGHT)}, ensure_ascii=False)
    return typst.compile(
        _source(),
        ignore_system_fonts=True,
        sys_inputs={"data": data},
        timestamp=0,
        pdf_standards="ua-1",
    )


@cache
def _source() -> bytes:
    return (files("chordline.adapters.printing") / "templates" / "sheet.typ").read_bytes()
