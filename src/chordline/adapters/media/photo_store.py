"""Keeps pictures in a folder, under names made from their bytes."""

import hashlib
import os
import re
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO

from chordline.errors import PhotoStoreError

#: How a picture is kept stands before its hash. Other ways get words of their own.
_PLAIN = "plain"
_KEY = re.compile(rf"{_PLAIN}-[0-9a-f]{{64}}", re.ASCII)
_UNFINISHED = "unfinished-"
#: Nobody writes one picture for so long [s].
_ABANDONED_S = 3600.0
_PIECE_BYTES = 1 << 20


class FolderPhotoStore:
    """Implements `PhotoStore`.

    A picture is written beside its place, brought to disk, and only then given its name: a kill
    leaves it wholly there or not at all. What a kill left unfinished is swept away on opening once
    it is an hour old: younger ones may be somebody else's who writes just now.
    """

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        try:
            folder.mkdir(parents=True, exist_ok=True, mode=0o700)
            for left in folder.glob(f"{_UNFINISHED}*"):
                if time.time() - left.stat().st_mtime > _ABANDONED_S:
                    left.unlink(missing_ok=True)
        except OSError as error:
            raise _unusable("", error) from None

    def put(self, content: bytes) -> str:
        """Keep a picture and return its key."""
        key = f"{_PLAIN}-{hashlib.sha256(content).hexdigest()}"
        place = self._place(key)
        try:
            if self._holds(place, content):
                # Another hand may have given the name a moment ago and not yet come to disk.
                _sync_folder(place.parent)
            else:
                self._write(place, content)
        except OSError as error:
            raise _unusable(key, error) from None
        return key

    def put_file(self, content: BinaryIO) -> str:
        """Keep a file of any length and return its key."""
        digest = hashlib.sha256()
        try:
            handle, unfinished = tempfile.mkstemp(prefix=_UNFINISHED, dir=self._folder)
            try:
                with os.fdopen(handle, "wb") as file:
                    while piece := content.read(_PIECE_BYTES):
                        digest.update(piece)
                        file.write(piece)
                    file.flush()
                    os.fsync(file.fileno())
                key = f"{_PLAIN}-{digest.hexdigest()}"
                self._give_name(Path(unfinished), self._place(key))
            except BaseException:
                Path(unfinished).unlink(missing_ok=True)
                raise
        except OSError as error:
            raise _unusable("", error) from None
        return key

    def open(self, key: str) -> bytes:
        """Return a picture, checked against its key."""
        try:
            content = self._place(key).read_bytes()
        except FileNotFoundError:
            raise PhotoStoreError(key, "this picture is not kept (any more)") from None
        except OSError as error:
            raise _unusable(key, error) from None
        if f"{_PLAIN}-{hashlib.sha256(content).hexdigest()}" != key:
            raise PhotoStoreError(key, "this picture is damaged; restore it from a backup")
        return content

    def open_file(self, key: str) -> BinaryIO:
        """Return a file to be read from and sought in; it is not checked against its key."""
        try:
            return self._place(key).open("rb")
        except FileNotFoundError:
            raise PhotoStoreError(key, "this picture is not kept (any more)") from None
        except OSError as error:
            raise _unusable(key, error) from None

    def has(self, key: str) -> bool:
        """Return whether there is a picture under a key."""
        return self._place(key).is_file()

    def delete(self, key: str) -> bool:
        """Remove a picture for good."""
        place = self._place(key)
        try:
            place.unlink()
            _sync_folder(place.parent)
        except FileNotFoundError:
            return False
        except OSError as error:
            raise _unusable(key, error) from None
        return True

    def keys(self) -> Iterator[str]:
        """Yield every key."""
        for path in sorted(self._folder.glob("??/*")):
            if _KEY.fullmatch(path.name):
                yield path.name

    def _place(self, key: str) -> Path:
        if not _KEY.fullmatch(key):
            raise PhotoStoreError("", "this is no key of a picture")
        digest = key.removeprefix(f"{_PLAIN}-")
        return self._folder / digest[:2] / key

    @staticmethod
    def _holds(place: Path, content: bytes) -> bool:
        """Return whether the picture is there undamaged; a damaged one is written again."""
        try:
            return place.read_bytes() == content
        except FileNotFoundError:
            return False

    def _write(self, place: Path, content: bytes) -> None:
        handle, unfinished = tempfile.mkstemp(prefix=_UNFINISHED, dir=self._folder)
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(content)
                file.flush()
                os.fsync(file.fileno())
            self._give_name(Path(unfinished), place)
        except BaseException:
            Path(unfinished).unlink(missing_ok=True)
            raise

    def _give_name(self, unfinished: Path, place: Path) -> None:
        if not place.parent.is_dir():
            place.parent.mkdir(exist_ok=True, mode=0o700)
            _sync_folder(self._folder)
        unfinished.replace(place)
        _sync_folder(place.parent)


def _unusable(key: str, error: OSError) -> PhotoStoreError:
    why = error.strerror or "unknown reason"
    return PhotoStoreError(key, f"the pictures' folder cannot be used now ({why})")


def _sync_folder(folder: Path) -> None:
    """Bring names in a folder to disk."""
    if os.name == "nt":  # Windows cannot, and does not need to
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
