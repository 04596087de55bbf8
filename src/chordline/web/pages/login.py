"""Coming in and going out."""

from typing import Annotated

from fastapi import APIRouter, Form, Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from chordline.application.accounts.records import Signed
from chordline.application.findings_words import upper_first
from chordline.errors import NoEntryError, TooManyTriesError
from chordline.web.desk import AtDesk
from chordline.web.door import Door
from chordline.web.forms import go_to
from chordline.web.gate import Device, SignedIn
from chordline.web.rendering import render
from chordline.web.sessions import address_of, hand_token, take_token

router = APIRouter()

_Text = Annotated[str, Form(max_length=1000)]


def own_path(text: str) -> str:
    """Return an address of our own, or that of Today for anything else."""
    ours = text.startswith("/") and not text.startswith(("//", "/\\", "/login", "/logout"))
    plain = ours and text.isprintable() and "\\" not in text
    return text[:500] if plain else "/"


@router.get("/login")
def show_login(request: Request, to: str = "/") -> Response:
    """Ask who somebody is."""
    signed: Signed | None = request.state.signed
    if signed is not None or not request.state.login_needed:
        return RedirectResponse(own_path(to), status_code=303)
    return _page(request, to=own_path(to))


def _page(
    request: Request, *, to: str, name: str = "", problem: str = "", status: int = 200
) -> HTMLResponse:
    return render(
        request,
        "login.html",
        here="",
        status=status,
        to=to,
        name=name[:100],
        problem=problem,
    )


@router.post("/login")
def log_in(
    request: Request,
    desk: AtDesk,
    device: Device,
    *,
    name: _Text = "",
    password: _Text = "",
    to: _Text = "/",
) -> Response:
    """Log somebody in."""
    if not request.state.login_needed:
        return go_to("/")
    try:
        opened = desk.app.come_in.with_password(
            desk.club.id, name, password, address=address_of(request), device=device
        )
    except NoEntryError as error:
        status = 429 if isinstance(error, TooManyTriesError) else 403
        told = f"{upper_first(str(error))}."
        return _page(request, to=own_path(to), name=name, problem=told, status=status)
    # Whatever token the device showed before is worth nothing now: the new one takes its place.
    _end_what_was(request, desk)
    answer = go_to("/account" if opened.account.must_change else own_path(to))
    hand_token(request, answer, opened.token)
    return answer


def _end_what_was(request: Request, desk: AtDesk) -> None:
    signed: Signed | None = request.state.signed
    if signed is not None:
        desk.app.come_in.log_out(signed)


@router.post("/logout")
def log_out(request: Request, desk: AtDesk, signed: SignedIn) -> Response:
    """Log this device out."""
    desk.app.come_in.log_out(signed)
    answer = go_to("/login", "Logged out.")
    take_token(request, answer)
    return answer


@router.get("/certificate")
def show_certificate(request: Request) -> HTMLResponse:
    """Say how a tablet comes to trust this address."""
    door: Door = request.app.state.door
    return render(request, "certificate.html", here="", door=door)


@router.get("/certificate/club.crt")
def hand_certificate(request: Request) -> Response:
    """Hand out the certificate that a tablet installs."""
    door: Door = request.app.state.door
    if door.certificate is None:
        return RedirectResponse("/certificate", status_code=303)
    return Response(
        door.certificate,
        media_type="application/x-x509-ca-cert",
        headers={"Content-Disposition": 'attachment; filename="chordline-club.crt"'},
    )
