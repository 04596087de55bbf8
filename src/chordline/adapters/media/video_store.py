"""What was read off videos, in a hidden folder beside them: landmarks, then the record."""

import json
import os
from pathlib import Path
from typing import Any, Final

from chordline.adapters.media.track_bytes import track_from_bytes, track_to_bytes
from chordline.core.body.track import Track
from chordline.errors import WrongUseError

_FOLDER: Final = Path(".chordline") / "videos"
_RECORD: Final = "record.json"


class FolderVideoStore:
    """Implements `application.video_ports.VideoStore` with small files.

    Each file is whole or not there. Where the folder cannot be written, nothing is remembered and
    nothing fails. No picture is kept.
    """

    def __init__(self, folder: Path) -> None:
        self._folder = folder / _FOLDER
        self._writable = True

    def pieces(self, key: str) -> tuple[Track, ...]:
        """Return the pieces that were kept, up to the first that is missing or damaged."""
        found: list[Track] = []
        while (piece := self._read_piece(key, len(found))) is not None:
            found.append(piece)
        return tuple(found)

    def keep_piece(self, key: str, number: int, piece: Track) -> None:
        """Write a piece and wait until it is on disk."""
        self._write(self._path(key) / f"{number:04d}.npz", track_to_bytes(piece))

    def record(self, key: str) -> dict[str, Any] | None:
        """Return the finished record of a video."""
        try:
            found = json.loads((self._path(key) / _RECORD).read_text(encoding="utf-8"))
        except (OSError, ValueError):
            return None
        return found if isinstance(found, dict) else None

    def keep_record(self, key: str, record: dict[str, Any]) -> None:
        """Write the finished record."""
        self._write(self._path(key) / _RECORD, json.dumps(record).encode())

    def _path(self, key: str) -> Path:
        if not key.isalnum():
            raise WrongUseError(f"'{key}' is no key of a video")
        return self._folder / key

    def _write(self, path: Path, content: bytes) -> None:
        """Make a file that appears under its name only when all of it is on disk."""
        if not self._writable:
            return
        part = path.with_name(f"{path.name}.{os.getpid()}.part")
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            with part.open("wb") as file:
                file.write(content)
                file.flush()
                os.fsync(file.fileno())
            part.replace(path)
        except OSError:
            self._writable = False

    def _read_piece(self, key: str, number: int) -> Track | None:
        try:
            content = (self._path(key) / f"{number:04d}.npz").read_bytes()
        except OSError:
            return None
        return track_from_bytes(content)


class NoVideoStore:
    """Remembers nothing."""

    def pieces(self, key: str) -> tuple[Track, ...]:  # noqa: ARG002
        """Return nothing."""
        return ()

    def keep_piece(self, key: str, number: int, piece: Track) -> None:
        """Do nothing."""

    def record(self, key: str) -> dict[str, Any] | None:  # noqa: ARG002
        """Return None."""
        return None

    def keep_record(self, key: str, record: dict[str, Any]) -> None:
        """Do nothing."""
