"""A tablet comes in by scanning a code."""

from io import BytesIO
from typing import Annotated
from urllib.parse import quote

import segno
from fastapi import APIRouter, Form, Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from chordline.application.accounts.log_in import CODE_LASTS_FOR
from chordline.application.accounts.records import Signed
from chordline.application.findings_words import upper_first
from chordline.errors import NoEntryError, TooManyTriesError
from chordline.web.desk import AtDesk
from chordline.web.door import Door
from chordline.web.forms import go_to
from chordline.web.gate import Device, SignedIn
from chordline.web.rendering import render
from chordline.web.sessions import address_of, hand_token

router = APIRouter()


def code_address(door_address: str, code: str) -> str:
    """Return the address that a tablet scans."""
    return f"{door_address}/pair?code={quote(code)}"


def _square(text: str) -> str:
    """Return a square code as a drawing, dark on light in both themes: cameras want that."""
    drawn = BytesIO()
    segno.make(text, error="m").save(
        drawn, kind="svg", scale=6, border=4, dark="#000", light="#fff", xmldecl=False,
        svgclass="square-code", lineclass=None, omitsize=True, title="Square code",
    )  # fmt: skip
    return drawn.getvalue().decode()


def _page(request: Request, signed: Signed | None, code: str | None) -> HTMLResponse:
    door: Door = request.app.state.door
    address = None if code is None or door.address is None else code_address(door.address, code)
    return render(
        request,
        "pair.html",
        here="settings",
        door=door,
        address=address,
        square=None if address is None else _square(address),
        seconds=int(CODE_LASTS_FOR.total_seconds()),
        name="" if signed is None else signed.account.name,
    )


@router.get("/account/pair")
def show_pairing(request: Request) -> Response:
    """Offer a code for a tablet."""
    signed: Signed | None = request.state.signed
    return _page(request, signed, None)


@router.post("/account/pair")
def make_code(request: Request, desk: AtDesk, signed: SignedIn) -> Response:
    """Show a code that logs one tablet in, once."""
    door: Door = request.app.state.door
    if door.address is None:
        return _page(request, signed, None)
    return _page(request, signed, desk.app.come_in.make_code(signed.account.id))


@router.get("/pair")
def show_scanned(request: Request, code: str = "") -> Response:
    """Ask whether this tablet is to come in; looking at the address alone uses nothing up."""
    signed: Signed | None = request.state.signed
    if signed is not None or not request.state.login_needed:
        return RedirectResponse("/", status_code=303)
    return render(request, "pair_in.html", here="", code=code[:200], problem="")


@router.post("/pair")
def come_in(
    request: Request,
    desk: AtDesk,
    device: Device,
    code: Annotated[str, Form(max_length=200)] = "",
) -> Response:
    """Log this tablet in as whoever made the code."""
    if not request.state.login_needed:
        return go_to("/")
    try:
        opened = desk.app.come_in.with_code(code, address=address_of(request), device=device)
    except NoEntryError as error:
        status = 429 if isinstance(error, TooManyTriesError) else 403
        told = f"{upper_first(str(error))}."
        return render(request, "pair_in.html", here="", status=status, code="", problem=told)
    answer = go_to("/", f"This device works as {opened.account.name} now.")
    hand_token(request, answer, opened.token)
    return answer
