"""Seeded damage: bytes, and the structures that the kinds of files are made of."""

import json
import random
import struct
import zipfile
import zlib
from collections.abc import Callable, Iterator, Sequence
from io import BytesIO
from typing import Any

_EDGES = (0, 1, 2, 0x7F, 0x80, 0xFF, 0x7FFF, 0x8000, 0xFFFF, 0x7FFFFFFF, 0x80000000, 0xFFFFFFFF)
Damage = Callable[[bytes, random.Random], bytes]


def mutated(samples: Sequence[bytes], seed: int, cases: int, *damages: Damage) -> Iterator[bytes]:
    """Yield so many damaged samples: by structure where a kind of damage is given, and by bytes."""
    rng = random.Random(seed)
    for _ in range(cases):
        content = rng.choice(samples)
        if damages and rng.random() < 0.6:
            try:
                content = rng.choice(damages)(content, rng)
            except (ValueError, IndexError, struct.error, KeyError):
                content = damage_bytes(content, rng)
            if rng.random() < 0.7:
                yield content
                continue
        for _ in range(rng.choice((1, 1, 2, 4, 16))):
            content = damage_bytes(content, rng)
        yield content


def damage_bytes(content: bytes, rng: random.Random) -> bytes:  # noqa: PLR0911
    """Return the content with one thing changed, left out, put in, doubled or cut."""
    if len(content) < 2:
        return bytes(rng.randrange(256) for _ in range(rng.randrange(1, 50)))
    at = _place(len(content), rng)
    length = min(len(content) - at, rng.choice((1, 1, 2, 4, 16, 64, 1024)))
    match rng.randrange(8):
        case 0:
            return content[:at] + bytes([content[at] ^ (1 << rng.randrange(8))]) + content[at + 1 :]
        case 1:
            return content[:at] + content[at + length :]
        case 2:
            return content[:at] + rng.randbytes(length) + content[at:]
        case 3:
            return (
                content[: at + length]
                + content[at : at + length] * rng.randrange(1, 4)
                + (content[at + length :])
            )
        case 4:
            return content[: max(1, at)]
        case 5:
            width, order = rng.choice("BHI"), rng.choice("<>")
            edge = rng.choice(_EDGES) & (256 ** struct.calcsize(width) - 1)
            put = struct.pack(order + width, edge)
            return content[:at] + put + content[at + len(put) :]
        case 6:
            other = _place(len(content), rng)
            return content[:at] + content[other : other + length] + content[at + length :]
        case _:
            return content[:at] + rng.randbytes(length) + content[at + length :]


def _place(size: int, rng: random.Random) -> int:
    """Return a place, every second time near the beginning, where headers are."""
    return rng.randrange(min(size, 200) if rng.random() < 0.5 else size)


def damage_jpeg(content: bytes, rng: random.Random) -> bytes:
    """Swap, double, drop or lie about the size of a segment."""
    parts, at = [content[:2]], 2
    while content[at] == 0xFF and content[at + 1] != 0xDA:
        size = struct.unpack(">H", content[at + 2 : at + 4])[0]
        parts.append(content[at : at + 2 + size])
        at += 2 + size
    parts.append(content[at:])
    return _damage_parts(parts, rng, size_at=2, size_form=">H")


def damage_png(content: bytes, rng: random.Random) -> bytes:
    """Damage one chunk and make its check sum right again."""
    chunks, at = [], 8
    while at + 8 <= len(content):
        size = struct.unpack(">I", content[at : at + 4])[0]
        chunks.append((content[at + 4 : at + 8], content[at + 8 : at + 8 + size]))
        at += 12 + size
    which = rng.randrange(len(chunks))
    kind, body = chunks[which]
    if rng.random() < 0.3:
        chunks.insert(rng.randrange(len(chunks)), rng.choice(chunks))
    else:
        chunks[which] = (kind, damage_bytes(body, rng) if body else rng.randbytes(4))
    out = content[:8]
    for kind, body in chunks:
        check = zlib.crc32(kind + body)
        out += struct.pack(">I", len(body)) + kind + body + struct.pack(">I", check)
    return out


def damage_boxes(content: bytes, rng: random.Random) -> bytes:
    """Swap, double, drop or lie about the size of a box of HEIC, MP4 or MOV, some levels deep."""
    begin, end = 0, len(content)
    for _ in range(rng.randrange(5)):
        inner = [
            (at + 8, at + size)
            for at, size in _boxes(content, begin, end)
            if content[at + 4 : at + 8]
            in (b"moov", b"trak", b"mdia", b"minf", b"stbl", b"iprp", b"ipco", b"dinf", b"edts")
        ] + [(at + 12, at + size) for at, size in _boxes(content, begin, end)
             if content[at + 4 : at + 8] == b"meta"]  # fmt: skip
        if not inner:
            break
        begin, end = rng.choice(inner)
    parts = [content[at : at + size] for at, size in _boxes(content, begin, end)]
    if rng.random() < 0.5:  # inside a box, behind its name
        which = rng.randrange(len(parts))
        parts[which] = parts[which][:8] + damage_bytes(parts[which][8:], rng)
        return content[:begin] + b"".join(parts) + content[end:]
    return content[:begin] + _damage_parts(parts, rng, size_at=0, size_form=">I") + content[end:]


def _boxes(content: bytes, at: int, end: int) -> Iterator[tuple[int, int]]:
    while at + 8 <= end:
        size = struct.unpack(">I", content[at : at + 4])[0]
        size = end - at if size < 8 else min(size, end - at)
        yield at, size
        at += size


def damage_riff(content: bytes, rng: random.Random) -> bytes:
    """Swap, double, drop or lie about the size of a chunk of WebP or AVI."""
    parts, at = [], 12
    while at + 8 <= len(content):
        size = struct.unpack("<I", content[at + 4 : at + 8])[0]
        parts.append(content[at : at + 8 + size + size % 2])
        at += 8 + size + size % 2
    return content[:12] + _damage_parts(parts, rng, size_at=4, size_form="<I")


def _damage_parts(parts: list[bytes], rng: random.Random, *, size_at: int, size_form: str) -> bytes:
    which = rng.randrange(len(parts))
    match rng.randrange(5):
        case 0:
            other = rng.randrange(len(parts))
            parts[which], parts[other] = parts[other], parts[which]
        case 1:
            parts.insert(which, parts[which])
        case 2:
            del parts[which]
        case 3:
            parts[which] = damage_bytes(parts[which], rng)
        case _:
            width = struct.calcsize(size_form)
            edge = struct.pack(size_form, rng.choice(_EDGES) & (256**width - 1))
            one = parts[which]
            parts[which] = one[:size_at] + edge + one[size_at + width :]
    return b"".join(parts)


def damage_zip(content: bytes, rng: random.Random) -> bytes:
    """Damage one member of an archive and pack it again, so that its check sum is right."""
    with zipfile.ZipFile(BytesIO(content)) as archive:
        members = [(one.filename, archive.read(one)) for one in archive.infolist()]
    which = rng.randrange(len(members))
    name, body = members[which]
    match rng.randrange(5):
        case 0:
            del members[which]
        case 1:
            members.append((rng.choice(("../../x", "/x", name, "xl/" + "a" * 300)), body))
        case 2:
            members[which] = (name, damage_markup(body, rng))
        case _:
            members[which] = (name, damage_bytes(body, rng))
    out = BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, body in dict(members).items():
            archive.writestr(name, body)
    return out.getvalue()


_MARKUP = (
    b"<", b"&#0;", b"&lol;", b"<!DOCTYPE x [<!ENTITY a 'b'>]>", b"]]>", b"1e999", b"-1", b"NaN",
    b"99999999999999999999", b"A1:XFD1048576", b"", b"\xff\xfe", b"1899-01-01", b"XFD1048576",
)  # fmt: skip


def damage_markup(content: bytes, rng: random.Random) -> bytes:
    """Put something else between two quotes, or between two tags."""
    quote = rng.choice((b'"', b">"))
    places = [at for at, one in enumerate(content) if one == quote[0]]
    at = rng.choice(places) + 1
    end = content.find(b'"' if quote == b'"' else b"<", at)
    return content[:at] + rng.choice(_MARKUP) + content[max(at, end) :]


_TEXTS = (
    "\x00", "\ud800", "\u202e", "a" * 10_000, "=1+1", "../../x", "1" * 5000, "1e999", "nan", "inf",
    "-0", "٣", '"', "\r", "\u2028", "\ufeff", ",", ";", "\t", "\x1b[31m", "2016-02-30",
    "9999-12-31", "[" * 3000, "{\"a\":" * 3000, "a." * 3000, "=", "''' '''", "\\ud800", "\\u0000",
    "0x" + "f" * 5000,
)  # fmt: skip


def damage_text(content: bytes, rng: random.Random) -> bytes:
    """Put a text that parsers stumble over into a text, in place of something or beside it."""
    put = rng.choice(_TEXTS).encode("utf-8", "surrogatepass")
    at = rng.randrange(len(content) + 1)
    return content[:at] + put + content[at + rng.choice((0, 0, 1, 5, 40)) :]


_VALUES: tuple[Any, ...] = (
    None, True, 0, -1, 2**63, 10**400, 1e308, float("nan"), float("inf"), "", "\x00", "\ud800",
    "a" * 10_000, [], {}, [[]], {"": {}}, "left", [None] * 1000,
)  # fmt: skip


def damage_json(content: bytes, rng: random.Random) -> bytes:
    """Put another value, or another key, somewhere into a JSON document."""
    found = json.loads(content)
    spots: list[tuple[Any, Any]] = []

    def walk(value: Any) -> None:
        items: Any = ()
        if isinstance(value, dict):
            items = list(value.items())
        elif isinstance(value, list):
            items = list(enumerate(value))
        for key, inner in items:
            spots.append((value, key))
            walk(inner)

    walk(found)
    if not spots:
        return json.dumps(rng.choice(_VALUES)).encode()
    for _ in range(rng.choice((1, 1, 2, 5))):
        holder, key = rng.choice(spots)
        if isinstance(holder, dict) and rng.random() < 0.3:
            holder[rng.choice(_TEXTS)] = holder.get(key)
        elif isinstance(holder, dict) or key < len(holder):
            holder[key] = rng.choice(_VALUES)
    return json.dumps(found).encode()
