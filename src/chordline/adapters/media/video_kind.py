"""Tells video files by their first bytes."""

from pathlib import Path
from typing import Final

from chordline.errors import PictureError

#: Names of cameras' and phones' videos: read as one where the content is nothing else.
VIDEO_SUFFIXES: Final = (
    ".mp4", ".mov", ".m4v", ".webm", ".mkv", ".avi", ".3gp", ".mts", ".m2ts", ".ts", ".mpg"
)  # fmt: skip
HEAD_BYTES: Final = 400
_READABLE: Final = "MP4, MOV, WebM or MKV"

_PICTURE_BRANDS: Final = frozenset(
    (b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"hevm", b"hevs", b"mif1", b"msf1",
     b"avif", b"avis")
)  # fmt: skip
_MOVIE_ATOMS: Final = frozenset((b"moov", b"mdat", b"wide", b"free", b"skip", b"pnot"))
_PACKET: Final = 188
_BY_START: Final = {b"\x1a\x45\xdf\xa3": "matroska", b"\x00\x00\x01\xba": "mpeg"}


def read_head(path: Path) -> bytes:
    """Return the first bytes of a file; none where it cannot be read."""
    try:
        with path.open("rb") as file:
            return file.read(HEAD_BYTES)
    except (OSError, ValueError):
        return b""


def container_of(head: bytes) -> str | None:
    """Return FFmpeg's name of the container, or None for what is no video container.

    The name is forced when the file is opened, so that no list of other files (a playlist) is
    ever followed.
    """
    if head[4:8] == b"ftyp" and head[8:12] in _PICTURE_BRANDS:
        return None
    if head[4:8] == b"ftyp" or head[4:8] in _MOVIE_ATOMS:
        return "mov"
    if head[:4] == b"RIFF" and head[8:12] == b"AVI ":
        return "avi"
    if _is_packet_stream(head):
        return "mpegts"
    return _BY_START.get(head[:4])


def _is_packet_stream(head: bytes) -> bool:
    """Return whether packets of one size follow each other; cameras put a time before each."""
    return any(
        len(head) > at + _PACKET + at and head[at] == head[at + _PACKET + at] == 0x47
        for at in (0, 4)
    )


def is_picture(head: bytes) -> bool:
    """Return whether the content is a still picture of a kind that is known."""
    return (
        head[:3] == b"\xff\xd8\xff"
        or head[:8] == b"\x89PNG\r\n\x1a\n"
        or (head[:4] == b"RIFF" and head[8:12] == b"WEBP")
        or (head[4:8] == b"ftyp" and head[8:12] in _PICTURE_BRANDS)
        or head[:4] in (b"GIF8", b"II*\x00", b"MM\x00*")
        or head[:2] == b"BM"
    )


def media_type_of(head: bytes) -> str:
    """Return what a browser is told that a video is."""
    container = container_of(head)
    if container == "mov":
        return "video/quicktime" if head[8:12] == b"qt  " or head[4:8] != b"ftyp" else "video/mp4"
    if container == "matroska":
        return "video/webm" if b"webm" in head[:64] else "video/x-matroska"
    known = {"avi": "video/x-msvideo", "mpegts": "video/mp2t", "mpeg": "video/mpeg"}
    return known.get(container or "", "application/octet-stream")


def check_kind(name: str, head: bytes) -> str:
    """Return FFmpeg's name of the container; raise `PictureError` where it is no video."""
    container = container_of(head)
    if container is not None:
        return container
    if is_picture(head):
        raise PictureError(
            name, "is a still picture with a video's name; give it its own name (.jpg, .heic)"
        )
    raise PictureError(name, f"is not a video that can be read; save it as {_READABLE}")


def is_video_file(path: Path) -> bool:
    """Return whether a file is to be read as a video.

    By its content. Where that is neither a video nor a picture that is known, the name decides
    who refuses it, so that the sentence speaks of videos.
    """
    head = read_head(path)
    if container_of(head) is not None:
        return True
    return path.suffix.lower() in VIDEO_SUFFIXES and not is_picture(head)
