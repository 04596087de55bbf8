"""The process that decodes frames of live cameras: `python -m …live_child FD MOST_BYTES MOST_PX`.

It reads frames from its standard input and answers on its standard output until that ends.
"""

import io
import sys
from typing import Final

import numpy as np
import PIL.TiffImagePlugin  # noqa: F401  # EXIF is read with it, and nothing is imported later
from PIL import Image

from chordline.adapters.decoding.bounds import LIVE_BOUNDS, allow_cpu, bind, offer_to_be_killed
from chordline.adapters.decoding.shared_pixels import GivenPixels
from chordline.adapters.decoding.wire import BrokenOffError, receive, send
from chordline.adapters.media.live_frame import JpegFrameReader
from chordline.errors import PictureError

_SMALL_PX: Final = (96, 128)


def serve(fd: int, *, most_bytes: int, most_px: int) -> None:
    """Answer until nobody asks any more."""
    asked, answers = sys.stdin.buffer, sys.stdout.buffer
    given = GivenPixels(fd)
    reader = JpegFrameReader(most_bytes=most_bytes, most_px=most_px)
    _load_decoder(reader)
    offer_to_be_killed()
    bind(LIVE_BOUNDS)
    send(answers, {"ready": True})
    while True:
        try:
            _, content = receive(asked, most_bytes=most_bytes)
        except BrokenOffError:
            return
        allow_cpu(LIVE_BOUNDS.cpu_s)
        try:
            rgb = reader.read_frame(content)
        except PictureError as error:
            send(answers, {"refused": error.reason})
            continue
        pixels = given.lay(rgb)
        send(answers, {"height": rgb.shape[0], "width": rgb.shape[1]}, pixels)


def _load_decoder(reader: JpegFrameReader) -> None:
    """Read a small frame, so that everything that is loaded late is loaded."""
    exif = Image.Exif()
    exif[0x0112] = 6
    buffer = io.BytesIO()
    Image.fromarray(np.full((*_SMALL_PX, 3), 127, np.uint8)).save(buffer, "JPEG", exif=exif)
    reader.read_frame(buffer.getvalue())


if __name__ == "__main__":
    serve(int(sys.argv[1]), most_bytes=int(sys.argv[2]), most_px=int(sys.argv[3]))
