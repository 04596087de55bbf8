"""Who is asking, and whether she may: the one place where the table of `access` is enforced."""

import hmac
import time
from typing import Annotated
from urllib.parse import quote

from fastapi import Depends, Request
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.responses import RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from chordline.application.accounts.acting import ACTING, Act
from chordline.application.accounts.records import THIS_MACHINE, Signed
from chordline.application.accounts.tokens import form_key
from chordline.web.access import AccessPlan, Entry, may
from chordline.web.desk import Desk
from chordline.web.door import SAFE, Door, says_where_from
from chordline.web.problems import tell_problem, wants_json
from chordline.web.sessions import Turns, address_of, device_words, read_token
from chordline.web.trail_buffer import TrailBuffer

#: Field of our forms and header of our scripts; what it holds is another in every login.
FORM_KEY = "form_key"
FORM_KEY_HEADER = "x-form-key"
#: Where one may go with a password that has to be replaced.
_BEFORE_A_NEW_PASSWORD = frozenset(("/account", "/account/password", "/logout"))
#: What may be answered without looking into the records.
_FOR_ANYBODY = frozenset(("/favicon.ico", "/static/{version}/{path:path}"))
_SHOWN = (200, 206, 304)
_FORMS = ("application/x-www-form-urlencoded", "multipart/form-data")
#: So long a server may not notice that another program made the first account [s].
_LOOKS_EVERY_S = 1.0
_NOT_OURS = "This was not sent from a page of your login; open the page again and repeat it."


class Gate:
    """Stands between the door and the routes."""

    def __init__(
        self, app: ASGIApp, door: Door, plan: AccessPlan, trail: TrailBuffer, turns: Turns
    ) -> None:
        self._app = app
        self._door = door
        self._plan = plan
        self._trail = trail
        self._turns = turns
        self._looked_at = float("-inf")

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request through, or answer it."""
        if scope["type"] == "lifespan":
            return await self._app(scope, receive, send)
        if scope["type"] != "http":
            # There are no sockets here; what is not in the table is not let through.
            return None
        request = Request(scope, receive)
        found = self._plan.find(request.method, scope["path"])
        if found is not None and found[0].path in _FOR_ANYBODY:
            return await self._app(scope, receive, send)
        refused = await run_in_threadpool(self._turned_away, request, found)
        if refused is not None:
            return await refused(scope, receive, send)
        act = None if found is None else _act(request, *found)
        if act is None:
            return await self._app(scope, receive, send)
        return await self._watched(act, request, send)

    async def _watched(self, act: Act, request: Request, send: Send) -> None:
        changes = request.method not in SAFE
        signed: Signed | None = request.state.signed
        login_id = signed.login.id if signed is not None else 0

        async def told(message: Message) -> None:
            begins = message["type"] == "http.response.start" and not changes
            if begins and message["status"] in _SHOWN:
                self._trail.add(act, login_id=login_id)
            await send(message)

        token = ACTING.set(act if changes else None)
        try:
            await self._app(request.scope, request.receive, told)
        finally:
            ACTING.reset(token)

    def _login_needed(self, desk: Desk) -> bool:
        """Return whether one has to log in: once there are accounts, and always while shared."""
        if self._door.address is not None or self._looked_at == float("inf"):
            return True
        now = time.monotonic()
        if now - self._looked_at < _LOOKS_EVERY_S:
            return False
        # Accounts are disabled, never removed: once there are some, nobody has to look again.
        any_there = desk.app.accounts.any()
        self._looked_at = float("inf") if any_there else now
        return any_there

    def look_again(self) -> None:
        """Notice at once that there is an account."""
        self._looked_at = float("-inf")

    def _turned_away(
        self, request: Request, found: tuple[Entry, dict[str, str]] | None
    ) -> Response | None:
        desk: Desk = request.app.state.desk
        token = read_token(request)
        signed = desk.app.come_in.who_is(token) if token else None
        request.state.signed = signed
        request.state.form_key = form_key(token) if signed is not None else ""
        request.state.login_needed = signed is not None or self._login_needed(desk)
        request.state.wants_form_key = ""
        request.state.gate = self
        if not request.state.login_needed:
            return None
        refused = None
        if request.method not in SAFE:
            # A page for logging in may be older than the login that it would replace.
            open_to_all = found is not None and found[0].least == "open"
            refused = self._not_from_a_form_of_hers(request, None if open_to_all else signed)
        if refused is not None or (found is not None and found[0].least == "open"):
            return refused
        if signed is None:
            return _ask_to_log_in(request)
        return _ask_for_a_password(request, signed) or (
            None if found is None else self._may_not(request, desk, signed, *found)
        )

    def _not_from_a_form_of_hers(self, request: Request, signed: Signed | None) -> Response | None:
        if signed is None:
            return None if says_where_from(request) else tell_problem(request, 403, _NOT_OURS)
        shown = request.headers.get(FORM_KEY_HEADER)
        if shown is not None:
            fits = hmac.compare_digest(shown.encode(), request.state.form_key.encode())
            return None if fits else tell_problem(request, 403, _NOT_OURS)
        kind = request.headers.get("content-type", "").partition(";")[0].strip().lower()
        if kind not in _FORMS:
            return tell_problem(request, 403, _NOT_OURS)
        # The form is read once, by its route; there `check_form_key` looks at it.
        request.state.wants_form_key = request.state.form_key
        return None

    def _may_not(
        self,
        request: Request,
        desk: Desk,
        signed: Signed,
        entry: Entry,
        parts: dict[str, str],
    ) -> Response | None:
        role = signed.account.role
        if entry.least != "open" and not may(role, entry.least):
            needed = "who leads" if entry.least == "lead" else "coaches"
            return tell_problem(request, 403, f"This is for {needed}; you are here as {role}.")
        if entry.picture and signed.sees_only_what_may_be_shown:
            subject = _subject(entry, parts)
            with desk.app.records.reading() as tx:
                allowed = subject is not None and tx.trail.may_show(*subject)
            if not allowed:
                return tell_problem(
                    request, 403, "Her family has not allowed showing this picture."
                )
        if entry.dear:
            wait = self._turns.wait_s(f"login {signed.login.id}")
            if wait > 0:
                answer = tell_problem(request, 429, "That was a lot at once; wait a moment.")
                answer.headers["Retry-After"] = str(int(wait) + 1)
                return answer
        return None


def _ask_to_log_in(request: Request) -> Response:
    if wants_json(request):
        return tell_problem(request, 401, "Log in first.")
    if request.method not in SAFE:
        return tell_problem(request, 401, "You are logged in no more. Log in, then repeat it.")
    wanted = request.url.path + (f"?{request.url.query}" if request.url.query else "")
    return RedirectResponse(f"/login?to={quote(wanted, safe='')}", status_code=303)


def _ask_for_a_password(request: Request, signed: Signed) -> Response | None:
    """Ask for a password of her own where somebody else gave her the present one."""
    if not signed.account.must_change or request.url.path in _BEFORE_A_NEW_PASSWORD:
        return None
    if wants_json(request):
        return tell_problem(request, 403, "Choose a password of your own first.")
    return RedirectResponse("/account", status_code=303)


def _subject(entry: Entry, parts: dict[str, str]) -> tuple[str, int] | None:
    text = parts.get(f"{entry.kind}_id", "")
    if not (text.isascii() and text.isdigit() and len(text) <= 10):
        return None
    return entry.kind, int(text)


def _act(request: Request, entry: Entry, parts: dict[str, str]) -> Act | None:
    if entry.what is None:
        return None
    signed: Signed | None = request.state.signed
    return Act(
        entry.what,
        f"{request.method} {request.url.path}",
        _subject(entry, parts),
        who=signed.account.name if signed is not None else THIS_MACHINE,
        account_id=signed.account.id if signed is not None else None,
        device=signed.login.device if signed is not None else address_of(request),
    )


async def check_form_key(request: Request) -> None:
    """Refuse a form that does not carry the key of its login; stands before every route."""
    wanted: str = getattr(request.state, "wants_form_key", "")
    if not wanted:
        return
    form = await request.form()
    shown = form.get(FORM_KEY)
    if not isinstance(shown, str) or not hmac.compare_digest(shown.encode(), wanted.encode()):
        raise HTTPException(403, _NOT_OURS)


def _signed(request: Request) -> Signed:
    signed: Signed | None = request.state.signed
    if signed is None:
        raise HTTPException(401, "Log in first.")
    return signed


#: Who is logged in; for routes that only make sense then.
SignedIn = Annotated[Signed, Depends(_signed)]
#: What her device calls itself.
Device = Annotated[str, Depends(device_words)]
