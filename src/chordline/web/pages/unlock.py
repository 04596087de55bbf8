"""The pictures' lock: unlocking, and what the settings change of it."""

from typing import Annotated, Literal

from fastapi import APIRouter, Form, Request
from starlette.exceptions import HTTPException
from starlette.responses import HTMLResponse, Response

from chordline.errors import RefusedInputError, VaultLockedError, WrongSecretError
from chordline.web.desk import AtDesk, Desk
from chordline.web.forms import go_to
from chordline.web.rendering import render
from chordline.web.unlock_tries import UnlockTries

router = APIRouter()

_LOOPBACK = ("127.0.0.1", "localhost", "::1")
_PLACE = "/settings#pictures"


@router.get("/unlock")
def show_unlock(request: Request, desk: AtDesk) -> HTMLResponse:
    """Show where the pictures are unlocked."""
    return _page(request, desk)


@router.post("/unlock")
def unlock(
    request: Request,
    desk: AtDesk,
    passphrase: Annotated[str, Form()] = "",
    code: Annotated[str, Form()] = "",
) -> Response:
    """Unlock with the passphrase or with the recovery code."""
    if not passphrase and not code.strip():
        return _page(request, desk, status=422, wrong="Nothing was typed.")
    tries = _tries(request)
    wait_s = tries.wait_s()
    if wait_s > 0:
        answer = _page(request, desk, status=429, wrong=_too_many(wait_s))
        answer.headers["Retry-After"] = str(int(wait_s) + 1)
        return answer
    try:
        if passphrase:
            desk.app.vault.unlock(passphrase)
        else:
            desk.app.vault.unlock_with_code(code)
    except WrongSecretError as error:
        if not passphrase and "typo" in str(error):
            tries.was_a_typo()
        said = str(error)
        return _page(request, desk, status=422, wrong=said[:1].upper() + said[1:] + ".")
    tries.worked(by_code=not passphrase)
    desk.measuring.wake()
    if not passphrase:
        return go_to(
            _PLACE, "The pictures are unlocked. Set a new passphrase now, here under Pictures."
        )
    return go_to("/", "The pictures are unlocked.")


@router.post("/settings/vault/lock")
def lock(request: Request, desk: AtDesk) -> Response:
    """Lock the pictures again."""
    if desk.app.vault.state == "by_file":
        raise RefusedInputError("without a passphrase nothing can be locked; set one first")
    desk.app.vault.lock()
    desk.app.pictures.forget()
    _tries(request).opened_by_code = False
    return go_to(_PLACE, "The pictures are locked.")


@router.post("/settings/vault/passphrase")
def set_passphrase(
    request: Request,
    desk: AtDesk,
    *,
    passphrase: Annotated[str, Form()] = "",
    again: Annotated[str, Form()] = "",
    present: Annotated[str, Form()] = "",
) -> Response:
    """Set or change the passphrase that opens the pictures."""
    _check_unlocked(desk)
    if passphrase != again:
        raise RefusedInputError("the two passphrases are not the same; nothing was changed")
    _check_present(request, desk, present)
    desk.app.vault.set_passphrase(passphrase)
    _tries(request).opened_by_code = False
    printed = desk.app.vault.sheet_printed_on is not None
    return go_to(
        _PLACE,
        "The passphrase is set. The recovery sheet you have still opens the pictures."
        if printed
        else "The passphrase is set. Print the recovery sheet now: without it a forgotten "
        "passphrase is the end of every picture.",
    )


@router.post("/settings/vault/remove")
def remove_passphrase(
    request: Request, desk: AtDesk, present: Annotated[str, Form()] = ""
) -> Response:
    """Let the pictures open without a passphrase."""
    _check_unlocked(desk)
    _check_present(request, desk, present)
    desk.app.vault.remove_passphrase()
    return go_to(_PLACE, "The passphrase is gone; the key lies beside the pictures again.")


@router.post("/settings/vault/recovery")
def print_recovery(
    request: Request,
    desk: AtDesk,
    kind: Annotated[Literal["pdf", "html"], Form()] = "pdf",
    present: Annotated[str, Form()] = "",
) -> Response:
    """Make a new recovery code and return its sheet; the sheet before opens no more."""
    _check_unlocked(desk)
    _check_present(request, desk, present)
    printed = desk.app.print_recovery(day=desk.today())
    if kind == "html":
        return HTMLResponse(printed.html)
    return Response(
        printed.pdf,
        media_type="application/pdf",
        headers={"Content-Disposition": 'inline; filename="recovery-sheet.pdf"'},
    )


def _check_unlocked(desk: Desk) -> None:
    if desk.locked:
        raise VaultLockedError


def _too_many(wait_s: float) -> str:
    return f"Too many wrong tries. The next one counts in {int(wait_s) + 1} seconds."


def _check_present(request: Request, desk: Desk, present: str) -> None:
    """Let nobody at an open screen change what opens the pictures without knowing it already.

    Whoever came in with the recovery sheet knows no passphrase, and sets one.
    """
    tries = _tries(request)
    if desk.app.vault.state == "by_file" or tries.opened_by_code:
        return
    if not present:
        raise RefusedInputError("type the present passphrase as well; nothing was changed")
    wait_s = tries.wait_s()
    if wait_s > 0:
        raise HTTPException(429, _too_many(wait_s))
    desk.app.vault.unlock(present)
    tries.worked()


def _page(request: Request, desk: Desk, *, status: int = 200, wrong: str = "") -> HTMLResponse:
    in_clear = request.url.scheme == "http" and (request.url.hostname or "") not in _LOOPBACK
    return render(
        request,
        "unlock.html",
        here="",
        status=status,
        state=desk.app.vault.state,
        wrong=wrong,
        in_clear=in_clear,
        sheet_printed_on=desk.app.vault.sheet_printed_on,
    )


def _tries(request: Request) -> UnlockTries:
    tries: UnlockTries = request.app.state.unlock_tries
    return tries
