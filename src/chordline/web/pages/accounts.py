"""Who may log in: for whoever leads."""

from typing import Annotated

from fastapi import APIRouter, Form, Request
from starlette.responses import HTMLResponse, Response

from chordline.application.accounts.passwords import FEWEST_LETTERS
from chordline.application.accounts.records import ROLES
from chordline.application.accounts.tokens import new_password
from chordline.application.findings_words import upper_first
from chordline.errors import RefusedInputError
from chordline.web.desk import AtDesk
from chordline.web.forms import go_to
from chordline.web.gate import Gate
from chordline.web.ids import PathId
from chordline.web.rendering import render

router = APIRouter()

_Text = Annotated[str, Form(max_length=1000)]
#: What each role may do, in a coach's words.
ROLE_WORDS = {
    "lead": "everything: accounts, settings of the club, exports, erasing, the trail",
    "coach": "screens, marks, plans, notes, sheets, the roster",
    "guest": "reads; sees pictures only where the family allows showing them",
}


@router.get("/accounts")
def show_accounts(request: Request, desk: AtDesk) -> HTMLResponse:
    """Show who may log in."""
    return _page(request, desk)


def _page(
    request: Request,
    desk: AtDesk,
    *,
    problem: str = "",
    name: str = "",
    handed: tuple[str, str] | None = None,
) -> HTMLResponse:
    every = desk.app.accounts.all(desk.club.id)
    return render(
        request,
        "accounts.html",
        here="settings",
        status=422 if problem else 200,
        accounts=every,
        roles=ROLES,
        role_words=ROLE_WORDS,
        fewest=FEWEST_LETTERS,
        problem=problem,
        name=name[:100],
        handed=handed,
    )


@router.post("/accounts")
def add_account(
    request: Request,
    desk: AtDesk,
    *,
    name: _Text = "",
    role: _Text = "lead",
    password: _Text = "",
    again: _Text = "",
) -> Response:
    """Make an account; the first one is chosen a password, later ones are handed one."""
    first = not desk.app.accounts.any()
    if first and password != again:
        return _page(request, desk, problem="The two passwords are not the same.", name=name)
    given = password if first else new_password()
    try:
        made = desk.app.accounts.add(
            desk.club.id,
            name,
            role="lead" if first else role,
            password=given,
            must_change=not first,
        )
    except RefusedInputError as error:
        return _page(request, desk, problem=f"{upper_first(str(error))}.", name=name)
    if first:
        gate: Gate = request.state.gate
        gate.look_again()
        return go_to("/login", "From now on everybody logs in here.")
    return _page(request, desk, handed=(made.name, given))


@router.post("/accounts/{account_id}/role")
def change_role(desk: AtDesk, account_id: PathId, role: _Text) -> Response:
    """Give somebody another role."""
    desk.app.accounts.set_role(desk.club.id, account_id, role)
    return go_to("/accounts", f"The role is {role} now; her devices have to log in again.")


@router.post("/accounts/{account_id}/disable")
def disable(desk: AtDesk, account_id: PathId) -> Response:
    """Let a colleague who has left in no more."""
    desk.app.accounts.set_disabled(desk.club.id, account_id, disabled=True)
    return go_to("/accounts", "Disabled, and logged out everywhere. Her marks keep her name.")


@router.post("/accounts/{account_id}/enable")
def enable(desk: AtDesk, account_id: PathId) -> Response:
    """Let a colleague in again."""
    desk.app.accounts.set_disabled(desk.club.id, account_id, disabled=False)
    return go_to("/accounts", "She may log in again.")


@router.post("/accounts/{account_id}/reset")
def reset_password(request: Request, desk: AtDesk, account_id: PathId) -> HTMLResponse:
    """Make a password to hand over; it is shown once and replaced at the login."""
    given = desk.app.accounts.reset_password(desk.club.id, account_id)
    with desk.app.records.reading() as tx:
        name = tx.accounts.get(account_id).name
    return _page(request, desk, handed=(name, given))
