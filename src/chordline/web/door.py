"""What is answered at all, before anybody asks who it is.

Against a page of another site that sends requests here, and against a name that is bent to this
machine: only known hosts are answered, and what changes something must come from our own pages.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from urllib.parse import urlsplit

from starlette.middleware.base import BaseHTTPMiddleware, RequestResponseEndpoint
from starlette.requests import Request
from starlette.responses import Response
from starlette.types import ASGIApp

from chordline.web.problems import tell_problem

SAFE = frozenset(("GET", "HEAD", "OPTIONS"))
LOOPBACK = frozenset(("127.0.0.1", "localhost", "::1", "[::1]"))

#: Nothing but our own files; pictures and drawings come from here as well.
_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self' 'unsafe-inline'; "
    "img-src 'self' data: blob:; media-src 'self'; connect-src 'self'; font-src 'self'; "
    "manifest-src 'self'; form-action 'self'; frame-ancestors 'none'; base-uri 'none'"
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
    address : str or None
        Where other devices find the pages, e.g. ``https://192.168.1.7:8765``; None = nobody but
        this machine is served.
    certificate : bytes or None
        What a device installs to trust that address (DER).
    fingerprint : str
        SHA-256 of that certificate.
    """

    hosts: Sequence[str] = ()
    address: str | None = None
    certificate: bytes | None = None
    fingerprint: str = ""

    def knows(self, host: str) -> bool:
        """Return whether a host name without port is one of ours."""
        return host.lower() in LOOPBACK or host.lower() in {one.lower() for one in self.hosts}


class DoorMiddleware(BaseHTTPMiddleware):
    """Stands before every route."""

    def __init__(self, app: ASGIApp, door: Door) -> None:
        super().__init__(app)
        self._door = door

    async def dispatch(self, request: Request, call_next: RequestResponseEndpoint) -> Response:
        """Answer, or turn away."""
        answer = self._turned_away(request)
        if answer is None:
            answer = await call_next(request)
        for name, value in _HEADERS.items():
            answer.headers.setdefault(name, value)
        if "cache-control" not in answer.headers:
            # A shared tablet must not show a child's page from its cache after the work.
            answer.headers["Cache-Control"] = "no-store"
        return answer

    def _turned_away(self, request: Request) -> Response | None:
        if not self._door.knows(_host_of(request)):
            return tell_problem(
                request, 403, "This name is not known here; use the address that chordline printed."
            )
        if _is_drawn_in_elsewhere(request):
            return tell_problem(request, 403, "Only chordline's own pages may show this.")
        if request.method not in SAFE and not _from_our_pages(request):
            return tell_problem(request, 403, "This was not sent from chordline's own pages.")
        return None


def _host_of(request: Request) -> str:
    """Return the name by which this machine was called, without port; empty where it is none."""
    said = request.headers.get("host", "")
    try:
        parts = urlsplit(f"//{said}")
    except ValueError:
        return ""
    # A name with anything before or behind it is no name that a browser sends.
    return (parts.hostname or "") if parts.netloc == said and "@" not in said else ""


def _is_drawn_in_elsewhere(request: Request) -> bool:
    """Return whether a page of another site wants this as a part of itself; a link may lead here.

    It could not read what comes back, but learn whether it is there, and keep this machine busy.
    """
    site = request.headers.get("sec-fetch-site", "none")
    mode = request.headers.get("sec-fetch-mode", "navigate")
    return site in ("cross-site", "same-site") and mode != "navigate"


def _from_our_pages(request: Request) -> bool:
    """Return whether a browser says that one of our pages sent this; scripts say nothing."""
    if request.headers.get("sec-fetch-site", "same-origin") not in ("same-origin", "none"):
        return False
    origin = request.headers.get("origin")
    # Compared as it stands: an origin is no address with parts that could be left out.
    host = request.headers.get("host")
    return origin is None or origin in (f"http://{host}", f"https://{host}")


def says_where_from(request: Request) -> bool:
    """Return whether a browser says which page sent this; every one since 2020 does."""
    return "origin" in request.headers or "sec-fetch-site" in request.headers
