"""Pages that carry everything they show: pictures, drawings and styles stand in them."""

from functools import cache
from importlib.resources import files
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from chordline.adapters.printing.palette import css_theme


def render_page(template: str, view: Any, *, styles: tuple[str, ...]) -> str:
    """Return a page; nothing in it asks the network.

    Parameters
    ----------
    template : str
        Name of the template.
    view : object
        What the template shows.
    styles : tuple of str
        Names of the style files, later ones laid over earlier ones.
    """
    return _environment().get_template(template).render(view=view, css=Markup(_css(styles)))


@cache
def _environment() -> Environment:
    environment = Environment(
        loader=PackageLoader("chordline.adapters.printing"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    # Drawings are made by our own code, which escapes what it is given; all else is escaped here.
    environment.filters["drawing"] = Markup
    return environment


@cache
def _css(names: tuple[str, ...]) -> str:
    folder = files("chordline.adapters.printing") / "templates"
    return css_theme() + "\n".join((folder / name).read_text(encoding="utf-8") for name in names)
