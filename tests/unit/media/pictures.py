"""Small pictures whose corners tell how they lie, and the files made of them."""

import io
import struct
import zlib

import numpy as np
from PIL import Image

RED, GREEN, BLUE, GREY = (200, 30, 30), (30, 160, 40), (30, 40, 190), (120, 120, 120)
ORIENTATION, MAKER, EXIF_IFD, GPS_IFD, FOCAL_35MM = 0x0112, 0x010F, 0x8769, 0x8825, 0xA405


def quadrants(width=160, height=96):
    """A picture whose corners tell how it lies: red, green / blue, grey."""
    picture = np.empty((height, width, 3), np.uint8)
    picture[: height // 2, : width // 2] = RED
    picture[: height // 2, width // 2 :] = GREEN
    picture[height // 2 :, : width // 2] = BLUE
    picture[height // 2 :, width // 2 :] = GREY
    return Image.fromarray(picture)


def corners_of(rgb):
    h, w = rgb.shape[:2]
    return [
        tuple(rgb[y, x].astype(int))
        for y, x in (
            (h // 4, w // 4),
            (h // 4, 3 * w // 4),
            (3 * h // 4, w // 4),
            (3 * h // 4, 3 * w // 4),
        )
    ]


def looks_like(rgb, colours, tolerance=6):
    return bool(np.all(np.abs(np.array(corners_of(rgb)) - np.array(colours)) <= tolerance))


def telling_exif(orientation=1, focal=26):
    exif = Image.Exif()
    exif[ORIENTATION] = orientation
    exif[MAKER] = "SecretMaker"
    exif.get_ifd(EXIF_IFD)[FOCAL_35MM] = focal
    exif.get_ifd(GPS_IFD)[1] = "N"
    exif.get_ifd(GPS_IFD)[2] = (52.0, 30.0, 0.0)
    return exif


def encode(image, kind, **options):
    buffer = io.BytesIO()
    image.save(buffer, kind, **options)
    return buffer.getvalue()


def tiff_block(exif):
    data = exif.tobytes()
    return data[6:] if data.startswith(b"Exif\0\0") else data


def png_of(width, height, body=b""):
    """A PNG whose header claims any size."""

    def chunk(kind, data):
        return (
            struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
        )

    header = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", header)
        + chunk(b"IDAT", zlib.compress(body))
        + chunk(b"IEND", b"")
    )
