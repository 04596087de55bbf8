"""A4 paper, set by typst from data: no text is ever read as markup."""

import json
import re
from dataclasses import asdict
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING, Any, Final

import typst

from chordline.adapters.printing.palette import LIGHT

if TYPE_CHECKING:
    from _typeshed import DataclassInstance

#: Fields that hold drawings, not words.
_DRAWINGS: Final = frozenset({"picture", "strip", "mark", "drawing", "glyph"})
#: A word longer than this gets places at which it may be broken, so that no name leaves the page.
_LONG_WORD: Final = re.compile(r"\S{25,}")
_MAY_BREAK: Final = "\u200b"


def set_paper(view: "DataclassInstance", *, title: str, templates: tuple[str, ...]) -> bytes:
    """Return a sheet as a PDF.

    Parameters
    ----------
    view : dataclass
        What the paper shows; the templates read it as ``sheet``.
    title : str
        Of the document.
    templates : tuple of str
        Names of the typst files, set as one.

    Notes
    -----
    Everything reaches typst as JSON data, pictures inside their drawings: no text is ever read
    as markup, and no picture of a child is written to a file on the way.

    Only fonts that typst carries are used and the document is not stamped with a time, so the
    same sheet gives the same bytes on every machine, tagged for screen readers (PDF/UA-1). A name
    in letters that those fonts lack (they have Latin, Greek and Cyrillic) would be refused by
    that standard: such a sheet is set without it, with the machine's own fonts at hand.
    """
    data = json.dumps(
        {"title": title, "sheet": _with_breaks(asdict(view)), "palette": asdict(LIGHT)},
        ensure_ascii=False,
    )
    source = _source(templates)
    try:
        return typst.compile(
            source,
            ignore_system_fonts=True,
            sys_inputs={"data": data},
            timestamp=0,
            pdf_standards="ua-1",
        )
    except typst.TypstError:
        return typst.compile(source, sys_inputs={"data": data}, timestamp=0)


def _with_breaks(value: Any) -> Any:
    if isinstance(value, dict):
        return {
            key: part if key in _DRAWINGS else _with_breaks(part) for key, part in value.items()
        }
    if isinstance(value, list | tuple):
        return [_with_breaks(part) for part in value]
    if isinstance(value, str):
        return _LONG_WORD.sub(lambda word: _MAY_BREAK.join(word.group()), value)
    return value


@cache
def _source(names: tuple[str, ...]) -> bytes:
    folder = files("chordline.adapters.printing") / "templates"
    return b"\n".join((folder / name).read_bytes() for name in names)
