"""What the use cases need from the world, as protocols. Adapters implement them."""

from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from chordline.core.body.found import FoundBody


@dataclass(frozen=True)
class Photo:
    """A picture, upright, without its metadata.

    Attributes
    ----------
    name : str
        File name without folders.
    rgb : (h, w, 3) uint8 array
        The working picture: the whole photo, at most `MAX_WORKING_PX` on its long side.
    width_px, height_px : int
        Size of the full upright photo; all coordinates of landmarks are in these pixels.
    sha256 : str
        Of the file's bytes.
    focal_length_35mm : float or None
        From EXIF; needed to tell how far away the phone stood. Place, device, owner and all other
        metadata are dropped on reading.
    """

    name: str
    rgb: NDArray[np.uint8]
    width_px: int
    height_px: int
    sha256: str
    focal_length_35mm: float | None

    @property
    def photo_px_per_working_px(self) -> float:
        """Ratio from coordinates in `rgb` to coordinates in the full photo."""
        return self.width_px / int(self.rgb.shape[1])


@dataclass(frozen=True)
class DetectedCard:
    """A card found in a picture: its number and the corners of its black square.

    `corners_px` has shape (4, 2): top left, top right, bottom right, bottom left as printed,
    in pixels of the picture that was searched, pixel centres at whole numbers.
    """

    id: int
    corners_px: NDArray[np.float64]


class PhotoReader(Protocol):
    """Reads a picture file into an upright `Photo`."""

    def read(self, path: Path) -> Photo:
        """Raise `PictureError` with a sentence that says what to do."""
        ...

    def read_content(self, name: str, content: bytes) -> Photo:
        """Read a picture from a file's bytes; raise `PictureError` likewise."""
        ...

    def content_of(self, path: Path) -> bytes:
        """Return a file's bytes, for `read_content`; raise `PictureError` likewise."""
        ...

    def clean_jpeg(self, photo: Photo, *, max_px: int) -> bytes:
        """Return a JPEG without metadata, at most `max_px` on its long side."""
        ...


class FileHasher(Protocol):
    """Names a file by its bytes."""

    def sha256_of(self, path: Path) -> str:
        """Return the hexadecimal SHA-256; raise `PictureError` where the file cannot be read."""
        ...


class CardReader(Protocol):
    """Finds printed cards."""

    def read(self, rgb: NDArray[np.uint8]) -> tuple[DetectedCard, ...]:
        """Return every card in the picture, the largest first."""
        ...


class PoseEstimator(Protocol):
    """Finds bodies without help."""

    @property
    def model(self) -> str:
        """Name and version of the networks, stored with every measurement."""
        ...

    def find(self, rgb: NDArray[np.uint8]) -> tuple[FoundBody, ...]:
        """Return every person found in (h, w, 3) `rgb`, most prominent first; may be empty."""
        ...
