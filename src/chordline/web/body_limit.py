"""How much a request may bring: refused before it is held in memory or laid on the disk."""

from typing import Final

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from chordline.adapters.tables.limits import MOST_BYTES as MOST_TABLE_BYTES
from chordline.web.problems import tell_problem
from chordline.web.video_stream import MOST_BYTES as MOST_VIDEO_BYTES

#: A filled-in form or a JSON object; the largest that our pages send has a tenth of it [bytes].
MOST_BYTES: Final = 2_000_000
#: Names, borders and small fields around the files of a form [bytes].
_AROUND: Final = 100_000
#: Where files are sent to. None: the route itself counts what it reads.
_FILES: Final[dict[str, int | None]] = {
    "/api/photos": None,
    "/api/videos": None,
    "/screening": MOST_VIDEO_BYTES + _AROUND,
    "/roster/preview": MOST_TABLE_BYTES + _AROUND,
}
_TOO_LARGE: Final = "This is too large for what was asked; send less at once."


class BodyLimitMiddleware:
    """Stands before everything that reads a request's body."""

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on while it is no larger than its route takes."""
        most = _FILES.get(scope.get("path", ""), MOST_BYTES)
        if scope["type"] != "http" or most is None:
            await self._app(scope, receive, send)
            return
        request = Request(scope)
        announced = request.headers.get("content-length", "")
        if (
            announced.isascii()
            and announced.isdigit()
            and (len(announced) > 15 or int(announced) > most)
        ):
            await tell_problem(request, 413, _TOO_LARGE)(scope, receive, send)
            return
        came = 0

        async def counted() -> Message:
            nonlocal came
            message = await receive()
            came += len(message.get("body", b""))
            if came > most:
                raise HTTPException(413, _TOO_LARGE)
            return message

        await self._app(scope, counted, send)
