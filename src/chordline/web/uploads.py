"""A photo on the wire: one raw request, whole or not at all."""

from urllib.parse import unquote

from fastapi import Request
from starlette.exceptions import HTTPException

from chordline.adapters.media.photo_reader import MAX_FILE_BYTES

NAME_HEADER = "x-photo-name"


async def read_body(request: Request, *, most_bytes: int = MAX_FILE_BYTES) -> bytes:
    """Return a request's body.

    Raises
    ------
    HTTPException
        413 for one that is too large, before it is read where it says so itself; 400 for one that
        is shorter than it said.
    ClientDisconnect
        Where the connection ended half-way.
    """
    announced = _announced(request)
    if announced is not None and announced > most_bytes:
        raise _too_large(most_bytes)
    body = bytearray()
    async for piece in request.stream():
        body += piece
        if len(body) > most_bytes:
            raise _too_large(most_bytes)
    if announced is not None and len(body) != announced:
        raise HTTPException(400, "the photo arrived only in part; send it again")
    return bytes(body)


def photo_name(request: Request, name: str) -> str:
    """Return a photo's own name: as given in the address, else from its header."""
    return name or unquote(request.headers.get(NAME_HEADER, ""))


def _announced(request: Request) -> int | None:
    text = request.headers.get("content-length", "")
    return int(text) if text.isdigit() else None


def _too_large(most_bytes: int) -> HTTPException:
    return HTTPException(
        413,
        f"this file is too large; at most {most_bytes / 1e6:.0f} MB can be read. Save it as a JPEG",
    )
