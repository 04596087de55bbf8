"""Videos on the wire: streamed in without being held in memory, and out by ranges."""

import re
from collections.abc import AsyncIterator, Iterator
from dataclasses import dataclass
from typing import Any, BinaryIO, Final, cast

import anyio.from_thread
from fastapi import Request
from starlette.exceptions import HTTPException
from starlette.responses import Response, StreamingResponse
from starlette.types import Receive, Scope, Send

#: Largest video that is taken in [bytes].
MOST_BYTES: Final = 4_000_000_000
_AT_ONCE: Final = 256 * 1024
_RANGE: Final = re.compile(r"bytes=(\d*)-(\d*)", re.ASCII)


class Arriving:
    """The body of a request as a file that is read by a thread of the site's pool.

    Parameters
    ----------
    request : Request
    most_bytes : int

    Raises
    ------
    HTTPException
        413 where it is too large, before anything is read where it says so itself; 400 where it is
        shorter than it said.
    """

    def __init__(self, request: Request, *, most_bytes: int = MOST_BYTES) -> None:
        text = request.headers.get("content-length", "")
        self._announced = int(text) if text.isdigit() else None
        self._most = most_bytes
        if self._announced is not None and self._announced > most_bytes:
            raise self._too_large()
        self._pieces: AsyncIterator[bytes] = request.stream()
        self._read = 0

    def read(self, size: int = -1, /) -> bytes:  # noqa: ARG002
        """Return the next piece as it comes, however long; empty at the end."""
        while True:
            piece = anyio.from_thread.run(self._next)
            if piece is None:
                if self._announced is not None and self._read != self._announced:
                    raise HTTPException(400, "the video arrived only in part; send it again")
                return b""
            self._read += len(piece)
            if self._read > self._most:
                raise self._too_large()
            if piece:
                return piece

    async def _next(self) -> bytes | None:
        return await anext(self._pieces, None)

    def _too_large(self) -> HTTPException:
        return HTTPException(
            413, f"this video is larger than {self._most / 1e9:.0f} GB; trim it first"
        )


def as_file(arriving: Arriving) -> BinaryIO:
    """Return it as what reads it takes it: nothing but `read` is asked of it."""
    return cast("BinaryIO", arriving)


@dataclass(frozen=True)
class _Part:
    begin: int
    end: int


def serve_part(
    content: BinaryIO, *, size_bytes: int, media_type: str, asked: str | None
) -> Response:
    """Return a file, or the part of it that was asked for; closes it at the end.

    Parameters
    ----------
    content : BinaryIO
    size_bytes : int
    media_type : str
    asked : str or None
        The `Range` header; one that is not understood means all of it.
    """
    headers = {
        "Accept-Ranges": "bytes",
        "Content-Disposition": "inline",
        # A part that is compressed again is no part of the file any more.
        "Content-Encoding": "identity",
    }
    part = _read_range(asked or "", size_bytes)
    if part is not None and part.begin >= part.end:
        content.close()
        headers["Content-Range"] = f"bytes */{size_bytes}"
        return Response(status_code=416, headers=headers)
    status = 200 if part is None else 206
    part = part or _Part(0, size_bytes)
    if status == 206:
        headers["Content-Range"] = f"bytes {part.begin}-{part.end - 1}/{size_bytes}"
    headers["Content-Length"] = str(part.end - part.begin)
    return _FileResponse(content, part, status_code=status, media_type=media_type, headers=headers)


class _FileResponse(StreamingResponse):
    """Sends a part of a file, and closes it also where nobody hears it to its end."""

    def __init__(self, content: BinaryIO, part: _Part, **more: Any) -> None:
        super().__init__(_pieces_of(content, part), **more)
        self._file = content

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer."""
        try:
            await super().__call__(scope, receive, send)
        finally:
            self._file.close()


def _read_range(asked: str, size_bytes: int) -> _Part | None:
    match = _RANGE.fullmatch(asked.strip())
    if match is None or not (match[1] or match[2]):
        return None
    if not match[1]:
        return _Part(max(0, size_bytes - int(match[2])), size_bytes) if int(match[2]) else _NONE
    begin = int(match[1])
    end = min(int(match[2]) + 1, size_bytes) if match[2] else size_bytes
    if match[2] and int(match[2]) < begin:
        return None
    return _Part(begin, end)


_NONE = _Part(0, 0)


def _pieces_of(content: BinaryIO, part: _Part) -> Iterator[bytes]:
    content.seek(part.begin)
    left = part.end - part.begin
    while left > 0 and (piece := content.read(min(_AT_ONCE, left))):
        left -= len(piece)
        yield piece
