"""One's own account: password and devices."""

from typing import Annotated

from fastapi import APIRouter, Form, Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from chordline.application.accounts.passwords import FEWEST_LETTERS
from chordline.application.accounts.records import Signed
from chordline.application.findings_words import upper_first
from chordline.errors import RefusedInputError
from chordline.web.desk import AtDesk
from chordline.web.forms import go_to
from chordline.web.gate import Device, SignedIn
from chordline.web.rendering import count_in_words, render
from chordline.web.sessions import hand_token

router = APIRouter()

_Password = Annotated[str, Form(max_length=1000)]


@router.get("/account")
def show_account(request: Request, desk: AtDesk) -> Response:
    """Show one's own account."""
    signed: Signed | None = request.state.signed
    if signed is None:
        # Nobody has to log in here yet.
        return RedirectResponse("/accounts", status_code=303)
    return _page(request, desk, signed)


def _page(request: Request, desk: AtDesk, signed: Signed, problem: str = "") -> HTMLResponse:
    return render(
        request,
        "account.html",
        here="account",
        status=422 if problem else 200,
        logins=desk.app.accounts.logins(signed.account.id),
        fewest=FEWEST_LETTERS,
        problem=problem,
    )


@router.post("/account/password")
def change_password(
    request: Request,
    desk: AtDesk,
    signed: SignedIn,
    device: Device,
    *,
    old: _Password = "",
    new: _Password = "",
    again: _Password = "",
) -> Response:
    """Keep another password of one's own."""
    if new != again:
        return _page(request, desk, signed, "The two new passwords are not the same.")
    try:
        desk.app.come_in.check_own(signed, old)
        desk.app.accounts.change_own_password(desk.club.id, signed, new, old=old)
    except RefusedInputError as error:
        return _page(request, desk, signed, f"{upper_first(str(error))}.")
    opened = desk.app.come_in.anew(signed.account.id, device=device)
    answer = go_to("/account", "Your password is changed; your other devices have to log in again.")
    hand_token(request, answer, opened.token)
    return answer


@router.post("/account/devices/end")
def end_others(desk: AtDesk, signed: SignedIn) -> Response:
    """Log every other device of hers out."""
    ended = desk.app.accounts.end_other_logins(signed)
    return go_to("/account", f"{count_in_words(ended, 'other device')} logged out.")
