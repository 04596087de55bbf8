"""Who may come in: this machine alone, or, while it is shared, who holds the key.

Against a page of another site that sends requests here, and against a name that is bent to this
machine: only known hosts are answered, and what changes something must come from our own pages.
"""

import hmac
from collections.abc import Sequence
from dataclasses import dataclass
from urllib.parse import urlsplit

from starlette.middleware.base import BaseHTTPMiddleware, RequestResponseEndpoint
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.types import ASGIApp

from chordline.web.problems import tell_problem

KEY_COOKIE = "chordline-key"
KEY_PARAMETER = "key"
_SAFE = frozenset(("GET", "HEAD", "OPTIONS"))
_LOOPBACK = frozenset(("127.0.0.1", "localhost", "::1", "[::1]"))

#: Nothing but our own files; pictures and drawings come from here as well.
_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self' 'unsafe-inline'; "
    "img-src 'self' data: blob:; connect-src 'self'; font-src 'self'; manifest-src 'self'; "
    "form-action 'self'; frame-ancestors 'none'; base-uri 'none'"
)
_HEADERS = {
    "Content-Security-Policy": _POLICY,
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "geolocation=(), microphone=(), camera=(self)",
}


@dataclass(frozen=True)
class Door:
    """What the door lets in.

    Attributes
    ----------
    hosts : sequence of str
        Names and addresses, without port, by which this machine may be called besides loopback.
    key : str or None
        What other devices must show; None = nobody but this machine is served.
    """

    hosts: Sequence[str] = ()
    key: str | None = None

    def knows(self, host: str) -> bool:
        """Return whether a host name without port is one of ours."""
        return host.lower() in _LOOPBACK or host.lower() in {one.lower() for one in self.hosts}


class DoorMiddleware(BaseHTTPMiddleware):
    """Stands before every route."""

    def __init__(self, app: ASGIApp, door: Door) -> None:
        super().__init__(app)
        self._door = door

    async def dispatch(self, request: Request, call_next: RequestResponseEndpoint) -> Response:
        """Answer, or turn away."""
        answer = self._turned_away(request) or self._handed_key(request)
        if answer is None:
            answer = await call_next(request)
        for name, value in _HEADERS.items():
            answer.headers.setdefault(name, value)
        if "cache-control" not in answer.headers:
            # A shared tablet must not show a child's page from its cache after the work.
            answer.headers["Cache-Control"] = "no-store"
        return answer

    def _turned_away(self, request: Request) -> Response | None:
        host = urlsplit(f"//{request.headers.get('host', '')}").hostname or ""
        if not self._door.knows(host):
            return tell_problem(
                request, 403, "This name is not known here; use the address that chordline printed."
            )
        if request.method not in _SAFE and not _from_our_pages(request):
            return tell_problem(request, 403, "This was not sent from chordline's own pages.")
        if (
            self._door.key is None
            or self._holds_key(request)
            or KEY_PARAMETER in request.query_params
        ):
            return None
        return tell_problem(
            request,
            403,
            "This chordline is shared with devices that have its key. Open the address, or scan "
            "the square code, that the machine it runs on shows.",
        )

    def _holds_key(self, request: Request) -> bool:
        shown = request.cookies.get(KEY_COOKIE, "")
        return self._same(shown)

    def _same(self, shown: str) -> bool:
        return hmac.compare_digest(shown.encode(), (self._door.key or "").encode())

    def _handed_key(self, request: Request) -> Response | None:
        """Take a key out of the address into a cookie, so that it is not passed on with links."""
        if self._door.key is None or KEY_PARAMETER not in request.query_params:
            return None
        if not self._same(request.query_params[KEY_PARAMETER]):
            return tell_problem(request, 403, "This key is not the one in use; scan the new code.")
        answer = RedirectResponse(request.url.path, status_code=303)
        answer.set_cookie(KEY_COOKIE, self._door.key, httponly=True, samesite="strict", path="/")
        return answer


def _from_our_pages(request: Request) -> bool:
    """Return whether a browser says that one of our pages sent this; scripts say nothing."""
    if request.headers.get("sec-fetch-site", "same-origin") not in ("same-origin", "none"):
        return False
    origin = request.headers.get("origin")
    return origin is None or urlsplit(origin).netloc == request.headers.get("host")
