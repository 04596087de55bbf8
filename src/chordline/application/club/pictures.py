"""Stored pictures: read whole for measuring, and made ready for a page."""

from dataclasses import dataclass
from functools import lru_cache

from chordline.application.club.photo_store import PhotoStore
from chordline.application.club.records import PhotoRecord
from chordline.application.ports import Photo, PhotoReader
from chordline.errors import PhotoStoreError

#: So many pictures are kept ready in memory, about 20 MB; none on disk beside the store's own.
_READY = 64


@dataclass(frozen=True)
class Rendition:
    """A picture as a page shows it, with what the full photo tells.

    Attributes
    ----------
    jpeg : bytes
        Without metadata.
    width_px, height_px : int
        Of the full upright photo.
    focal_length_35mm : float or None
    """

    jpeg: bytes
    width_px: int
    height_px: int
    focal_length_35mm: float | None


class StoredPictures:
    """Reads pictures from the store."""

    def __init__(self, store: PhotoStore, reader: PhotoReader) -> None:
        self._store = store
        self._reader = reader
        self._ready = lru_cache(_READY)(self._render)

    def read(self, photo: PhotoRecord) -> Photo:
        """Return a picture; raise `PhotoStoreError` where it is not kept, or damaged."""
        return self._reader.read_content(photo.name, self._store.open(_key_of(photo)))

    def show(self, photo: PhotoRecord, *, max_px: int) -> Rendition:
        """Return a picture at most `max_px` on its long side; raise `PhotoStoreError` likewise."""
        return self._ready(_key_of(photo), photo.name, max_px)

    def forget(self) -> None:
        """Let go of the pictures that are ready, and of their keys; after some were deleted."""
        self._ready.cache_clear()
        self._store.forget_keys()

    def _render(self, key: str, name: str, max_px: int) -> Rendition:
        photo = self._reader.read_content(name, self._store.open(key))
        return Rendition(
            jpeg=self._reader.clean_jpeg(photo, max_px=max_px),
            width_px=photo.width_px,
            height_px=photo.height_px,
            focal_length_35mm=photo.focal_length_35mm,
        )


def _key_of(photo: PhotoRecord) -> str:
    if photo.content_key is None:
        raise PhotoStoreError("", f"{photo.name}: this picture is not kept (any more)")
    return photo.content_key
