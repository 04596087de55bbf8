"""The process that decodes photos: `python -m chordline.adapters.decoding.photo_child FD`.

It reads pictures from its standard input and answers on its standard output until that ends.
"""

import io
import sys
from typing import Final

import numpy as np
import PIL.TiffImagePlugin  # noqa: F401  # EXIF is read with it, and nothing is imported later
from PIL import Image

from chordline.adapters.decoding.bounds import PHOTO_BOUNDS, allow_cpu, bind, offer_to_be_killed
from chordline.adapters.decoding.shared_pixels import GivenPixels
from chordline.adapters.decoding.wire import BrokenOffError, receive, send
from chordline.adapters.media.photo_reader import MAX_FILE_BYTES, PillowPhotoReader
from chordline.errors import PictureError

_NAME: Final = "photo"


def serve(fd: int) -> None:
    """Answer until nobody asks any more."""
    asked, answers = sys.stdin.buffer, sys.stdout.buffer
    given = GivenPixels(fd)
    reader = PillowPhotoReader()
    _load_decoders(reader)
    offer_to_be_killed()
    bind(PHOTO_BOUNDS)
    send(answers, {"ready": True})
    while True:
        try:
            _, content = receive(asked, most_bytes=MAX_FILE_BYTES)
        except BrokenOffError:
            return
        allow_cpu(PHOTO_BOUNDS.cpu_s)
        try:
            photo = reader.read_content(_NAME, content, sha256="")
        except PictureError as error:
            send(answers, {"refused": error.reason})
            continue
        height, width = photo.rgb.shape[:2]
        said = {
            "height": height,
            "width": width,
            "height_px": photo.height_px,
            "width_px": photo.width_px,
            "focal_length_35mm": photo.focal_length_35mm,
        }
        pixels = given.lay(photo.rgb)
        del photo, content
        send(answers, said, pixels)


def _load_decoders(reader: PillowPhotoReader) -> None:
    """Read a small picture of each kind, so that everything that is loaded late is loaded."""
    exif = Image.Exif()
    exif[0x0112] = 6
    small = Image.fromarray(np.full((64, 80, 3), 127, np.uint8))
    for form in ("JPEG", "PNG", "WEBP"):
        buffer = io.BytesIO()
        small.save(buffer, form, exif=exif)
        reader.read_content(_NAME, buffer.getvalue())


if __name__ == "__main__":
    serve(int(sys.argv[1]))
