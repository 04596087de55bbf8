"""Real files, small ones, that are damaged."""

import io
import json
from fractions import Fraction
from importlib import resources
from pathlib import Path

import av
import numpy as np
from openpyxl import Workbook
from PIL import Image

TESTS = Path(__file__).resolve().parents[2] / "tests"


def pictures() -> dict[str, list[bytes]]:
    """Return small pictures by kind."""
    rng = np.random.default_rng(3)
    coarse = Image.fromarray(rng.integers(0, 256, (12, 16, 3), dtype=np.uint8))
    rgb = coarse.resize((160, 120), Image.Resampling.BICUBIC)
    exif = Image.Exif()
    exif[0x0112], exif[0x010F] = 6, "camera"
    exif.get_ifd(0x8769)[0xA405] = 26
    clear = rgb.copy()
    clear.putalpha(100)
    return {
        "JPEG": [
            _saved(rgb, "JPEG", exif=exif, quality=80),
            _saved(rgb, "JPEG", progressive=True),
            _saved(rgb.convert("L"), "JPEG"),
            _saved(rgb.convert("CMYK"), "JPEG", comment=b"made"),
        ],
        "PNG": [
            _saved(rgb, "PNG", exif=exif),
            _saved(clear, "PNG"),
            _saved(rgb.convert("P"), "PNG", transparency=3),
            _saved(rgb.convert("I;16"), "PNG"),
            _saved(rgb.convert("1"), "PNG", dpi=(72, 72)),
        ],
        "WebP": [
            _saved(rgb, "WEBP", exif=exif, quality=60),
            _saved(clear, "WEBP", lossless=True),
            _saved(rgb, "WEBP", save_all=True, append_images=[rgb.rotate(90)], duration=40),
        ],
        "HEIC": [(TESTS / "data" / "tile.heic").read_bytes()],
    }


def _saved(picture: Image.Image, form: str, **options: object) -> bytes:
    buffer = io.BytesIO()
    picture.save(buffer, form, **options)
    return buffer.getvalue()


def videos() -> list[bytes]:
    """Return videos of a dozen frames in the containers and codecs that can be written here."""
    made = []
    for form, codec in (
        ("mp4", "libx264"),
        ("mov", "mpeg4"),
        ("webm", "libvpx-vp9"),
        ("matroska", "libx265"),
        ("avi", "mjpeg"),
        ("mpegts", "libx264"),
    ):
        try:
            made.append(_video(form, codec))
        except (av.error.FFmpegError, ValueError):  # this machine's build lacks the encoder
            continue
    return made


def _video(form: str, codec: str) -> bytes:
    buffer = io.BytesIO()
    with av.open(buffer, "w", format=form) as container:
        quiet = {"x265-params": "log-level=none"} if codec == "libx265" else {}
        stream = container.add_stream(codec, rate=10, options=quiet)
        stream.width, stream.height = 160, 128
        stream.pix_fmt = "yuvj420p" if codec == "mjpeg" else "yuv420p"
        stream.time_base = Fraction(1, 10)
        for number in range(12):
            picture = np.full((128, 160, 3), 20 * number, np.uint8)
            picture[number : number + 40, 30:60] = 255
            frame = av.VideoFrame.from_ndarray(picture, format="rgb24")
            for packet in stream.encode(frame):
                container.mux(packet)
        for packet in stream.encode():
            container.mux(packet)
    return buffer.getvalue()


_ROSTER = (
    ("name", "card", "group", "birth date", "sex", "height (cm)", "weight (kg)"),
    ("Ada Lind", "11", "Squad A", "2014-03-02", "girl", "141.5", "35"),
    ("Åsa Öst", "12", "Squad A", "2015-12-31", "girl", "133", "29.5"),
    ("'=Bo", "13", "Squad B", "", "boy", "", ""),
)


def tables() -> dict[str, list[bytes]]:
    """Return rosters by kind."""
    lines = [",".join(row) for row in _ROSTER]
    text = "\n".join(lines) + "\n"
    book = Workbook()
    sheet = book.active
    for row in _ROSTER:
        sheet.append([float(cell) if cell.isdigit() else cell for cell in row])
    book.create_sheet("more").append(["=1+1"])
    buffer = io.BytesIO()
    book.save(buffer)
    return {
        "CSV": [
            text.encode("utf-8-sig"),
            text.replace(",", ";").encode("cp1252"),
            text.replace(",", "\t").encode("utf-16"),
            ("sep=;\r\n" + text.replace(",", ";").replace("Ada Lind", '"Ada ""A"" Lind"')).encode(),
        ],
        "XLSX": [buffer.getvalue()],
    }


def marks() -> list[bytes]:
    """Return marks files."""
    names = ("malleolus", "knee", "hip", "shoulder", "elbow", "wrist", "hand", "back_1", "seam_2")
    one = {
        "near_side": "left",
        "front": "down",
        "landmarks": {
            name: {"x_px": 100.0 + 90 * at, "y_px": 400 - 7.5 * at, "sd_px": 3}
            for at, name in enumerate(names)
        },
    }
    return [json.dumps(one).encode(), json.dumps([one, {**one, "front": None}], indent=1).encode()]


def catalogue_files() -> dict[str, bytes]:
    """Return our own catalogue's files by name."""
    folder = resources.files("chordline.catalogue") / "data"
    return {
        one.name: one.read_bytes()
        for one in folder.iterdir()
        if one.name.endswith((".toml", ".csv"))
    }
