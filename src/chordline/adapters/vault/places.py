"""Files that are there wholly or not at all, for their owner only."""

import os
import tempfile
from collections.abc import Iterable
from pathlib import Path

UNFINISHED = "unfinished-"


def write_whole(place: Path, content: Iterable[bytes], *, workplace: Path | None = None) -> None:
    """Write a file beside its place, bring it to disk, and only then give it its name."""
    folder = workplace or place.parent
    handle, unfinished = tempfile.mkstemp(prefix=UNFINISHED, dir=folder)
    try:
        with os.fdopen(handle, "wb") as file:
            for piece in content:
                file.write(piece)
            file.flush()
            os.fsync(file.fileno())
        if not place.parent.is_dir():
            place.parent.mkdir(exist_ok=True, mode=0o700)
            sync_folder(folder)
        Path(unfinished).replace(place)
        sync_folder(place.parent)
    except BaseException:
        Path(unfinished).unlink(missing_ok=True)
        raise


def write_first(place: Path, content: bytes) -> bool:
    """Write a file unless there is one already; return whether this was the first."""
    handle, unfinished = tempfile.mkstemp(prefix=UNFINISHED, dir=place.parent)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        try:
            # Unlike a rename this fails where somebody else was first.
            os.link(unfinished, place)
        except FileExistsError:
            return False
        sync_folder(place.parent)
    finally:
        Path(unfinished).unlink(missing_ok=True)
    return True


def sync_folder(folder: Path) -> None:
    """Bring names in a folder to disk."""
    if os.name == "nt":  # Windows cannot, and does not need to
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
