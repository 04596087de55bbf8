"""Frames of a live camera: JPEG, bounded before anything is unpacked, never written anywhere."""

import io

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import JpegImagePlugin

from chordline.errors import PictureError

_NAME = "live picture"
_JPEG = b"\xff\xd8\xff"
#: A side shorter than this shows nobody [px].
_LEAST_SIDE_PX = 64


class JpegFrameReader:
    """Implements `application.live.ports.FrameReader`.

    Parameters
    ----------
    most_bytes, most_px : int
        Larger pictures are refused.
    """

    def __init__(self, *, most_bytes: int, most_px: int) -> None:
        self._most_bytes = most_bytes
        self._most_px = most_px

    def read_frame(self, content: bytes) -> NDArray[np.uint8]:
        """Return the (h, w, 3) picture; raise `PictureError` where there is none."""
        if len(content) > self._most_bytes:
            raise PictureError(_NAME, "is too large; send at most 640 pixels")
        if not content.startswith(_JPEG):
            raise PictureError(_NAME, "is no JPEG; send the camera's picture as JPEG")
        try:
            # The size alone is read here: Pillow warns of a size that is refused below anyway.
            with JpegImagePlugin.JpegImageFile(io.BytesIO(content)) as header:
                width_px, height_px = header.size
        except Exception:  # damage raises anything: struct, index, type …
            raise PictureError(_NAME, "cannot be read; send the next one") from None
        if width_px * height_px > self._most_px:
            raise PictureError(
                _NAME,
                f"has {width_px} × {height_px} pixels, which is too large; send a smaller one",
            )
        if min(width_px, height_px) < _LEAST_SIDE_PX:
            raise PictureError(_NAME, "is too small to show anybody")
        # The camera's picture stands upright already: its script drew it so.
        flags = cv2.IMREAD_COLOR | cv2.IMREAD_IGNORE_ORIENTATION
        try:
            bgr = cv2.imdecode(np.frombuffer(content, np.uint8), flags)
        except cv2.error:
            bgr = None
        if bgr is None:
            raise PictureError(_NAME, "arrived only in part; send the next one")
        return np.asarray(cv2.cvtColor(bgr, cv2.COLOR_BGR2RGB), np.uint8)
