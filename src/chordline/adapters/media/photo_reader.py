"""Reads picture files: upright, of bounded size, without anything that tells where or by whom."""

import hashlib
import io
import math
import stat
import threading
import warnings
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import BinaryIO, Final

import cv2
import numpy as np
import pi_heif
from numpy.typing import NDArray
from PIL import Image, JpegImagePlugin, PngImagePlugin, WebPImagePlugin

from chordline.application.ports import Photo
from chordline.errors import PictureError, WrongUseError

Pixels = NDArray[np.uint8]
Size = tuple[int, int]
#: What a decoder yields: the picture as stored, its orientation by EXIF (1–8) and focal length.
Decoded = tuple[Pixels, int, float | None]

#: Long side of the working picture [px].
MAX_WORKING_PX: Final = 4096
#: Smallest side of a picture, and of its working picture, that is worth reading [px].
MIN_SIDE_PX: Final = 64
#: Largest picture [px]; larger ones would need more memory than a small computer has.
MAX_PIXELS: Final = 100_000_000
#: Largest file [bytes].
MAX_FILE_BYTES: Final = 200_000_000

_READABLE: Final = "JPEG, PNG, HEIC or WebP"
_JPEG_QUALITY: Final = 90
_EXIF_IFD: Final = 0x8769
_ORIENTATION: Final = 0x0112
_FOCAL_LENGTH_35MM: Final = 0xA405
#: EXIF orientation → what makes the picture upright.
_UPRIGHT: Final[dict[int, Callable[[Pixels], Pixels]]] = {
    2: lambda a: a[:, ::-1],
    3: lambda a: a[::-1, ::-1],
    4: lambda a: a[::-1],
    5: lambda a: a.transpose(1, 0, 2),
    6: lambda a: a.transpose(1, 0, 2)[:, ::-1],
    7: lambda a: a[::-1, ::-1].transpose(1, 0, 2),
    8: lambda a: a.transpose(1, 0, 2)[::-1],
}
_HEIF_BRANDS: Final = frozenset(
    (b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"hevm", b"hevs", b"mif1", b"msf1")
)


class _RefusalError(Exception):
    """A reason for refusing, on its way to a `PictureError` with the file's name."""


class PillowPhotoReader:
    """Reads JPEG, PNG, HEIC and WebP, told apart by their content and never by their name.

    One picture is read at a time: a hundred megapixels need about 1 GB while they are decoded,
    and the decoders' warnings can only be silenced for the whole process.
    """

    _one_at_a_time = threading.Lock()

    def read(self, path: Path) -> Photo:
        """Return the upright picture in a file.

        Parameters
        ----------
        path : Path
            A file. Of an animation or a burst the first picture is taken.

        Returns
        -------
        Photo
            `rgb` is averaged down to at most `MAX_WORKING_PX`. Transparent parts become white. Of
            the metadata only the 35 mm focal length is kept; colour profiles are not applied.

        Raises
        ------
        PictureError
            If there is no file, no picture, too little or too much of it, or if it is damaged.
        """
        with _refusing(path.name):
            self._check_file(path)
            with path.open("rb") as file:
                return self._read(path.name, file)

    def content_of(self, path: Path) -> bytes:
        """Return a file's bytes for `read_content`; raise `PictureError` as `read` does."""
        with _refusing(path.name):
            self._check_file(path)
            return path.read_bytes()

    def read_content(self, name: str, content: bytes, *, sha256: str | None = None) -> Photo:
        """Return the upright picture in a file's bytes, as `read` does.

        Parameters
        ----------
        name : str
            What to call it; never used to reach a file.
        content : bytes
        sha256 : str, optional
            Of the bytes, where it is known or worked out by somebody else.

        Raises
        ------
        PictureError
            If the bytes are no picture, too little or too much of it, or damaged.
        """
        self.check_size(name, content)
        with _refusing(name):
            return self._read(name, io.BytesIO(content), sha256)

    def check_size(self, name: str, content: bytes) -> None:
        """Raise `PictureError` for a file that is empty or too large to be tried."""
        with _refusing(name):
            _check_size(len(content))

    def _read(self, name: str, file: BinaryIO, sha256: str | None = None) -> Photo:
        with self._one_at_a_time, warnings.catch_warnings():
            warnings.simplefilter("ignore")
            if sha256 is None:
                sha256 = hashlib.file_digest(file, "sha256").hexdigest()  # type: ignore[arg-type]
            file.seek(0)
            full, (rgb, orientation, focal_length_35mm) = _decode(file)
        upright = _UPRIGHT[orientation](rgb) if orientation in _UPRIGHT else rgb
        width_px, height_px = full[::-1] if orientation >= 5 else full
        return Photo(
            name=name,
            rgb=np.ascontiguousarray(upright),
            width_px=width_px,
            height_px=height_px,
            sha256=sha256,
            focal_length_35mm=focal_length_35mm,
        )

    def clean_jpeg(self, photo: Photo, *, max_px: int) -> bytes:
        """Return a JPEG of a photo without EXIF, colour profile, XMP or comments.

        Parameters
        ----------
        photo : Photo
            A photo that was read.
        max_px : int
            Largest long side [px]; a smaller picture keeps its size.
        """
        if max_px < 1:
            raise WrongUseError(
                f"A picture {max_px} pixels long cannot be made; ask for 1 or more."
            )
        height, width = photo.rgb.shape[:2]
        # Built from bare pixels, so there is nothing that could be carried over.
        picture = Image.fromarray(_shrink(photo.rgb, _fit((width, height), max_px)))
        buffer = io.BytesIO()
        picture.save(buffer, "JPEG", quality=_JPEG_QUALITY)
        return buffer.getvalue()

    @staticmethod
    def _check_file(path: Path) -> None:
        try:
            status = path.stat()
        except FileNotFoundError:
            raise _RefusalError("there is no such file; check its name and folder") from None
        except ValueError:
            raise _RefusalError("is no possible file name") from None
        if stat.S_ISDIR(status.st_mode):
            raise _RefusalError("is a folder; name the pictures inside it")
        if not stat.S_ISREG(status.st_mode):
            raise _RefusalError("is not an ordinary file; name a picture")
        _check_size(status.st_size)


@contextmanager
def _refusing(name: str) -> Iterator[None]:
    """Turn what goes wrong in the block into a `PictureError` with the file's name."""
    try:
        yield
    except _RefusalError as refusal:
        raise PictureError(name, str(refusal)) from None
    except OSError as error:
        reason = f"cannot be opened ({error.strerror or error}); check the path and its rights"
        raise PictureError(name, reason) from None


def _check_size(size_bytes: int) -> None:
    if size_bytes == 0:
        raise _RefusalError("is empty; copy it from the phone again")
    if size_bytes > MAX_FILE_BYTES:
        raise _RefusalError(
            f"is {size_bytes / 1e6:.0f} MB large; at most {MAX_FILE_BYTES / 1e6:.0f} MB "
            "can be read. Save it as a JPEG"
        )


def _decode(file: BinaryIO) -> tuple[Size, Decoded]:
    """Return the stored size (before orientation) and the working picture."""
    head = file.read(12)
    file.seek(0)
    try:
        if head[:3] == b"\xff\xd8\xff":
            return _decode_jpeg(file)
        if head[:8] == b"\x89PNG\r\n\x1a\n":
            return _decode_png(file)
        if head[:4] == b"RIFF" and head[8:] == b"WEBP":
            return _decode_webp(file)
        if head[4:8] == b"ftyp" and head[8:] in _HEIF_BRANDS:
            return _decode_heif(file)
    except _RefusalError:
        raise
    except MemoryError:
        raise _RefusalError("needs more memory than there is; save it smaller") from None
    except Exception:  # decoders meet damage with any exception: struct, index, type, zlib …
        raise _RefusalError("is damaged or incomplete; copy it from the phone again") from None
    raise _RefusalError(f"is not a picture that can be read; save it as {_READABLE}")


def _decode_jpeg(file: BinaryIO) -> tuple[Size, Decoded]:
    with closing(JpegImagePlugin.JpegImageFile(file)) as image:
        full, working = image.size, _plan_size(image.size)
        # The decoder itself averages by 2, 4 or 8, never below the working size.
        image.draft(image.mode, working)
        image.load()
        return full, _finish(image, working)


def _decode_png(file: BinaryIO) -> tuple[Size, Decoded]:
    with closing(PngImagePlugin.PngImageFile(file)) as image:
        full, working = image.size, _plan_size(image.size)
        image.load()
        return full, _finish(image, working)


def _finish(image: Image.Image, working: Size) -> Decoded:
    """Return a loaded picture in RGB and at working size, in the order that needs least memory."""
    exif = image.getexif()
    if image.mode.startswith("I"):  # 16 bits of grey: conversion would clip, not scale
        grey = (np.asarray(image).astype(np.uint16, copy=False) >> 8).astype(np.uint8)
        picture: Image.Image = Image.fromarray(grey)
    elif image.has_transparency_data and image.mode not in ("RGBA", "LA"):
        picture = image.convert("RGBA")
    elif image.mode in ("RGB", "L", "RGBA", "LA", "CMYK"):
        picture = image
    else:  # palette and one-bit pictures have no averages of their own
        picture = image.convert("RGB")
    if picture.size != working:
        picture = picture.resize(working, Image.Resampling.BOX)
    if picture.mode in ("RGBA", "LA"):
        picture = picture.convert("RGBA")
        paper = Image.new("RGBA", picture.size, "white")
        picture = Image.alpha_composite(paper, picture)
    return np.asarray(picture.convert("RGB")), _orientation(exif), _focal_length_35mm(exif)


def _decode_webp(file: BinaryIO) -> tuple[Size, Decoded]:
    image = WebPImagePlugin.WebPImageFile(file)
    full, working, exif = image.size, _plan_size(image.size), image.getexif()
    # Pillow decodes WebP through its animation reader, which keeps four copies of the picture.
    del image
    file.seek(0)
    stored = cv2.imdecode(np.frombuffer(file.read(), np.uint8), cv2.IMREAD_UNCHANGED)
    if stored is None or stored.shape[1::-1] != full:
        raise ValueError
    small = _shrink_with_alpha(np.asarray(stored, dtype=np.uint8), working)
    rgb = np.ascontiguousarray(small[..., ::-1])
    return full, (rgb, _orientation(exif), _focal_length_35mm(exif))


def _decode_heif(file: BinaryIO) -> tuple[Size, Decoded]:
    container = pi_heif.open_heif(file, convert_hdr_to_8bit=True)
    primary = container[container.primary_index]
    full: Size = primary.size
    working = _plan_size(full)
    exif = Image.Exif()
    if primary.info.get("exif"):
        exif.load(primary.info["exif"])
    data, size = primary.data, primary.size
    if size != full:
        raise ValueError
    channels = {"RGB": 3, "RGBA": 4, "RGBa": 4, "L": 1, "LA": 2, "La": 2}[primary.mode]
    rows = np.frombuffer(data, np.uint8).reshape(full[1], primary.stride)
    stored = rows[:, : full[0] * channels].reshape(full[1], full[0], channels)
    if channels < 3:
        stored = stored[..., [0, 0, 0, 1][: channels + 2]]
    # A copy, because the decoder's memory goes with its container when this function ends.
    rgb = np.array(_shrink_with_alpha(stored, working))
    # The container turns the picture by itself; its EXIF orientation repeats that for others.
    return full, (rgb, 1, _focal_length_35mm(exif))


def _plan_size(full: Size) -> Size:
    """Return the working size for a picture, from its header alone, or refuse it."""
    width, height = full
    sizes = f"is {width} × {height} pixels"
    if width * height > MAX_PIXELS:
        raise _RefusalError(
            f"{sizes} ({width * height / 1e6:.0f} megapixels); at most {MAX_PIXELS / 1e6:.0f} "
            "can be read. Set the camera to a smaller picture size, or save it smaller"
        )
    working = _fit(full, MAX_WORKING_PX)
    if min(working) < MIN_SIDE_PX:
        raise _RefusalError(
            f"{sizes}; that is too little to measure a body. Send the original photo"
        )
    return working


def _fit(full: Size, max_px: int) -> Size:
    share = min(1.0, max_px / max(full))
    return max(1, round(full[0] * share)), max(1, round(full[1] * share))


def _shrink(pixels: Pixels, size: Size) -> Pixels:
    """Return (h, w, c) pixels averaged down to a width and height."""
    if pixels.shape[1::-1] == size:
        return pixels
    return np.asarray(cv2.resize(pixels, size, interpolation=cv2.INTER_AREA), dtype=np.uint8)


def _shrink_with_alpha(pixels: Pixels, size: Size) -> Pixels:
    """Return three channels at a size; a fourth, if there, is laid on white first."""
    if pixels.ndim == 2:
        pixels = np.repeat(pixels[..., None], 3, axis=2)
    if pixels.shape[2] == 3:
        return _shrink(pixels, size)
    opaque = np.empty((*pixels.shape[:2], 3), np.uint8)
    # In strips: whole pictures in 32 bits would not fit the memory that is allowed.
    for top in range(0, len(pixels), 256):
        strip = pixels[top : top + 256].astype(np.uint32)
        alpha = strip[..., 3:]
        opaque[top : top + 256] = (strip[..., :3] * alpha + 255 * (255 - alpha) + 127) // 255
    return _shrink(opaque, size)


def _orientation(exif: Image.Exif) -> int:
    value = exif.get(_ORIENTATION, 1)
    return value if isinstance(value, int) and 1 <= value <= 8 else 1


def _focal_length_35mm(exif: Image.Exif) -> float | None:
    """Return the 35 mm equivalent focal length [mm], or None if absent or impossible."""
    try:
        value = float(exif.get_ifd(_EXIF_IFD).get(_FOCAL_LENGTH_35MM, 0))
    except Exception:  # damaged EXIF raises anything; the picture itself may be fine
        return None
    return value if math.isfinite(value) and value > 0 else None
