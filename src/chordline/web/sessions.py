"""The cookie of a login, what a device calls itself, and how often dear things may be asked for."""

import threading
import time
from collections.abc import Callable

from starlette.requests import Request
from starlette.responses import Response

from chordline.application.accounts.log_in import LASTS_FOR

_PLAIN_COOKIE = "chordline-login"
#: A browser takes this name only over https, for this host alone and all of it (RFC 6265bis).
_SECURE_COOKIE = "__Host-chordline-login"

#: So many sheets and plans at once, and after that one in two seconds (assumption: a coach who
#: prints for a squad has her pile, and nobody else waits for long).
_AT_ONCE = 40
_PER_S = 0.5
_MOST_KNOWN = 1000


def cookie_name(request: Request) -> str:
    """Return the name of the login's cookie."""
    return _SECURE_COOKIE if request.url.scheme == "https" else _PLAIN_COOKIE


def read_token(request: Request) -> str:
    """Return the token that a device shows; empty where none."""
    return request.cookies.get(cookie_name(request), "")[:200]


def hand_token(request: Request, answer: Response, token: str) -> None:
    """Let a device keep its token, out of the reach of scripts and other sites."""
    answer.set_cookie(
        cookie_name(request),
        token,
        max_age=int(LASTS_FOR.total_seconds()),
        path="/",
        secure=request.url.scheme == "https",
        httponly=True,
        samesite="strict",
    )


def take_token(request: Request, answer: Response) -> None:
    """Let a device forget its token."""
    answer.delete_cookie(
        cookie_name(request),
        path="/",
        secure=request.url.scheme == "https",
        httponly=True,
        samesite="strict",
    )


_MACHINES = (
    ("iPad", "iPad"),
    ("iPhone", "iPhone"),
    ("Android", "Android"),
    ("Macintosh", "Mac"),
    ("Windows", "Windows"),
    ("CrOS", "Chromebook"),
    ("Linux", "Linux"),
)
_BROWSERS = (
    ("Edg", "Edge"),
    ("Firefox", "Firefox"),
    ("FxiOS", "Firefox"),
    ("CriOS", "Chrome"),
    ("Chrom", "Chrome"),
    ("Safari", "Safari"),
)


def device_words(request: Request) -> str:
    """Return what a device calls itself, as people say it."""
    agent = request.headers.get("user-agent", "")
    machine = next((word for sign, word in _MACHINES if sign in agent), "another device")
    browser = next((word for sign, word in _BROWSERS if sign in agent), "another browser")
    return f"{machine}, {browser}, {address_of(request)}"


def address_of(request: Request) -> str:
    """Return the address from which somebody asks."""
    return request.client.host if request.client else "unknown"


class Turns:
    """Lets everybody have dear things at a measured pace."""

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock = clock
        self._lock = threading.Lock()
        self._left: dict[str, tuple[float, float]] = {}

    def wait_s(self, who: str) -> float:
        """Return 0 and count a turn, or how long to wait for the next one, s."""
        now = self._clock()
        with self._lock:
            left, since = self._left.pop(who, (float(_AT_ONCE), now))
            left = min(float(_AT_ONCE), left + (now - since) * _PER_S)
            if left < 1.0:
                self._left[who] = (left, now)
                return (1.0 - left) / _PER_S
            self._left[who] = (left - 1.0, now)
            while len(self._left) > _MOST_KNOWN:
                del self._left[next(iter(self._left))]
            return 0.0
