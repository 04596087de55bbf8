"""A gymnast's sheet as one page that carries everything it shows."""

from functools import cache
from importlib.resources import files

from jinja2 import Environment, PackageLoader, StrictUndefined, Template
from markupsafe import Markup

from chordline.adapters.printing.palette import css_theme
from chordline.adapters.printing.sheet_view import SheetView


def render_html(view: SheetView) -> str:
    """Return the page. Pictures, drawings and styles stand in it; nothing asks the network."""
    return _template().render(view=view, css=Markup(_css()))


@cache
def _template() -> Template:
    environment = Environment(
        loader=PackageLoader("chordline.adapters.printing"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    # Drawings are made by our own code, which escapes what it is given; all else is escaped here.
    environment.filters["drawing"] = Markup
    return environment.get_template("sheet.html")


@cache
def _css() -> str:
    sheet = files("chordline.adapters.printing") / "templates" / "sheet.css"
    return css_theme() + sheet.read_text(encoding="utf-8")
