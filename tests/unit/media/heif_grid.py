"""Builds HEIF files of any size out of one small coded tile, as phones do.

A grid picture lists tiles; all of them may point at the same bytes, so a picture of a hundred
megapixels takes a few kilobytes. Boxes are those of ISO/IEC 23008-12 (HEIF) and 14496-12.
"""

import struct
from pathlib import Path

TILE_PX = 512
TILE_FILE = Path(__file__).parents[2] / "data" / "tile.heic"


def build_heif_grid(
    *, columns: int, rows: int, width_px: int, height_px: int, irot: int = 0, exif: bytes = b""
) -> bytes:
    """Return a HEIC of `columns` × `rows` tiles, cropped to a size, turned `irot` × 90° left."""
    decoder, coded = _take_tile_apart(TILE_FILE.read_bytes())
    tiles = columns * rows
    grid_id, exif_id = tiles + 1, tiles + 2
    grid = struct.pack(">BBBBII", 0, 1, rows - 1, columns - 1, width_px, height_px)
    exif_item = struct.pack(">I", 0) + exif if exif else b""

    entries = [_infe(k, b"hvc1", hidden=True) for k in range(1, tiles + 1)]
    entries.append(_infe(grid_id, b"grid"))
    references = _box(b"dimg", struct.pack(f">HH{tiles}H", grid_id, tiles, *range(1, tiles + 1)))
    if exif:
        entries.append(_infe(exif_id, b"Exif"))
        references += _box(b"cdsc", struct.pack(">HHH", exif_id, 1, grid_id))
    iinf = _full(b"iinf", struct.pack(">H", len(entries)) + b"".join(entries))

    tile_properties = bytes([2, 0x81, 2])
    grid_properties = bytes([2, 3, 0x84]) if irot else bytes([1, 3])
    ipma = struct.pack(">I", tiles + 1)
    ipma += b"".join(struct.pack(">H", k) + tile_properties for k in range(1, tiles + 1))
    ipma += struct.pack(">H", grid_id) + grid_properties
    properties = _box(b"hvcC", decoder) + _ispe(TILE_PX, TILE_PX) + _ispe(width_px, height_px)
    if irot:
        properties += _box(b"irot", bytes([irot]))
    iprp = _box(b"iprp", _box(b"ipco", properties) + _full(b"ipma", ipma))

    ftyp = _box(b"ftyp", b"heic\0\0\0\0mif1heic")

    def meta(mdat_at: int) -> bytes:
        places = [(k, 0, mdat_at, len(coded)) for k in range(1, tiles + 1)]
        places.append((grid_id, 1, 0, len(grid)))
        if exif:
            places.append((exif_id, 1, len(grid), len(exif_item)))
        iloc = struct.pack(">BBH", 0x44, 0, len(places))
        iloc += b"".join(struct.pack(">HHHHII", k, how, 0, 1, at, n) for k, how, at, n in places)
        return _full(
            b"meta",
            _full(b"hdlr", struct.pack(">I4s12sB", 0, b"pict", b"", 0))
            + _full(b"pitm", struct.pack(">H", grid_id))
            + _full(b"iloc", iloc, version=1)
            + iinf
            + _full(b"iref", references)
            + iprp
            + _box(b"idat", grid + exif_item),
        )

    mdat_at = len(ftyp) + len(meta(0)) + 8
    return ftyp + meta(mdat_at) + _box(b"mdat", coded)


def _box(kind: bytes, body: bytes) -> bytes:
    return struct.pack(">I4s", 8 + len(body), kind) + body


def _full(kind: bytes, body: bytes, *, version: int = 0, flags: int = 0) -> bytes:
    return _box(kind, struct.pack(">I", version << 24 | flags) + body)


def _infe(item: int, kind: bytes, *, hidden: bool = False) -> bytes:
    return _full(b"infe", struct.pack(">HH4sB", item, 0, kind, 0), version=2, flags=int(hidden))


def _ispe(width_px: int, height_px: int) -> bytes:
    return _full(b"ispe", struct.pack(">II", width_px, height_px))


def _take_tile_apart(data: bytes) -> tuple[bytes, bytes]:
    """Return the decoder configuration and the coded picture of a HEIC with one picture."""
    at = data.index(b"hvcC")
    (size,) = struct.unpack(">I", data[at - 4 : at])
    decoder = data[at + 4 : at - 4 + size]
    at = data.index(b"mdat")
    (size,) = struct.unpack(">I", data[at - 4 : at])
    return decoder, data[at + 4 : at - 4 + size]
