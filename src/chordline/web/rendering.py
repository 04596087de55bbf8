"""From a template to a page."""

import re
from datetime import date, datetime
from functools import cache
from typing import Any
from uuid import uuid4

from fastapi import Request
from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup
from starlette.responses import HTMLResponse

from chordline import __version__
from chordline.application.days import day_in_words
from chordline.application.findings_words import upper_first
from chordline.web.access_offers import offers_of
from chordline.web.desk import Desk
from chordline.web.statics import Statics

STATICS = Statics()

_FORM_THAT_CHANGES = re.compile(r"<form\b[^>]*\bmethod=\"post\"[^>]*>", re.IGNORECASE)


def day_or_nothing(day: date | datetime | None) -> str:
    """Return a day as a coach reads it; empty for None."""
    return "" if day is None else day_in_words(day)


def count_in_words(count: int, one: str, many: str | None = None) -> str:
    """Return a number with its noun, e.g. ``1 photo`` or ``3 photos``."""
    return f"{count} {one if count == 1 else many or f'{one}s'}"


@cache
def _environment() -> Environment:
    environment = Environment(
        loader=PackageLoader("chordline.web"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    # Drawings are made by our own code, which escapes what it is given; all else is escaped here.
    environment.filters["drawing"] = Markup
    environment.filters["day"] = day_or_nothing
    environment.filters["counted"] = count_in_words
    environment.filters["upper_first"] = upper_first
    environment.globals["static"] = STATICS.address
    environment.globals["version"] = __version__
    # A form carries a word of its own, so that sending it twice does it once.
    environment.globals["form_token"] = lambda: uuid4().hex
    return environment


def render(
    request: Request, template: str, *, here: str, status: int = 200, **shown: Any
) -> HTMLResponse:
    """Return a page.

    Parameters
    ----------
    request : Request
    template : str
        Name of the template, which extends ``base.html``.
    here : str
        Which entry of the navigation it belongs to: today, screening, look, squad, training,
        settings or empty.
    status : int
    **shown
        What the template shows.
    """
    desk: Desk = request.app.state.desk
    signed = getattr(request.state, "signed", None)
    offers = offers_of(request)
    form_key: str = getattr(request.state, "form_key", "")
    text = (
        _environment()
        .get_template(template)
        .render(
            here=here,
            club=desk.club,
            today=desk.today().isoformat(),
            said=request.query_params.get("said", "")[:200],
            signed=signed,
            may=offers.may,
            may_open=offers.may_open,
            locked=desk.locked,
            # Before anybody has logged in there is nowhere to go.
            ways=signed is not None or not getattr(request.state, "login_needed", False),
            **shown,
        )
    )
    return HTMLResponse(_with_key(text, form_key), status_code=status)


def _with_key(page: str, form_key: str) -> str:
    """Let every form that changes something, and every script, carry the key of its login."""
    if not form_key:
        return page
    field = f'<input type="hidden" name="form_key" value="{form_key}">'
    told = f'<meta name="form-key" content="{form_key}"></head>'
    return _FORM_THAT_CHANGES.sub(lambda form: form[0] + field, page.replace("</head>", told, 1))
