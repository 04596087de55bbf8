"""The format of a backup file: an opening that can be read, then one encrypted stream.

Notes
-----
=========  ===============================================================
bytes      what
=========  ===============================================================
18         ``CHORDLINE-BACKUP1`` and a line feed
4          length of the opening, big end first
…          the opening: JSON, packed with zlib
…          a sealed file (`adapters.vault.sealed_file`) that holds
8          … the length of the manifest, big end first
…          … the manifest: JSON
…          … the parts in the manifest's order, each packed with zlib
=========  ===============================================================

The key of the stream is derived from a Diffie-Hellman secret between a key pair made for this file
and the club's pair, from the club's writing secret, and from the SHA-256 of all bytes before it:
who has the writing secret can make backups and read none of them; who has the club key can read
them all; and no other opening, so no other list of pictures, fits (`keys`).
"""

import hashlib
import io
import json
import os
import zlib
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any, BinaryIO, cast

from chordline.adapters.backup.keys import ReadingKeys, WritingKeys
from chordline.adapters.backup.names import SEALED_NAME
from chordline.adapters.vault.sealed_file import Header, SealedReader, seal
from chordline.application.backup.ports import Stop
from chordline.application.backup.records import Manifest, Opening, Part, SealedPicture
from chordline.errors import BackupError

_MAGIC = b"CHORDLINE-BACKUP1\n"
_SCHEMA = "chordline.backup/1"
_PIECE = 1 << 20
#: A file from elsewhere must not fill the memory: packed, and unpacked.
_LONGEST_OPENING, _LONGEST_UNPACKED = 64 << 20, 256 << 20
_LONGEST_MANIFEST = 16 << 20


def damaged(name: str) -> BackupError:
    """Return the error for a file that was cut, changed or put together from others."""
    return BackupError(f"{name} is damaged or was changed; use another backup")


def pack(path: Path, into: Path, name: str, stop: Stop) -> Part:
    """Pack a file with zlib; return the part that it becomes."""
    digest, size, packer = hashlib.sha256(), 0, zlib.compressobj(6)
    with path.open("rb") as source, into.open("wb") as packed:
        while piece := source.read(_PIECE):
            stop()
            digest.update(piece)
            size += len(piece)
            packed.write(packer.compress(piece))
        packed.write(packer.flush())
    return Part(name, size, digest.hexdigest())


def write_container(
    opening: Opening, manifest: Manifest, packed: Sequence[Path], keys: WritingKeys, stop: Stop
) -> tuple[Iterator[bytes], bytes]:
    """Return the bytes of a backup file, and the key that opens this one file."""
    ephemeral, shared = keys.agree()
    text = zlib.compress(_canonical({**_opening_record(opening), "agreed": ephemeral.hex()}), 6)
    before = _MAGIC + len(text).to_bytes(4, "big") + text
    file_key = keys.file_key(shared, before)
    return _pieces(before, manifest, packed, file_key, stop), file_key


def _pieces(
    before: bytes, manifest: Manifest, packed: Sequence[Path], file_key: bytes, stop: Stop
) -> Iterator[bytes]:
    yield before
    told = _canonical(_manifest_record(manifest, [one.stat().st_size for one in packed]))
    with _Chain([len(told).to_bytes(8, "big") + told, *packed]) as content:
        header = Header.new(hashlib.sha256(before).digest()[:16])
        for piece in seal(cast("BinaryIO", content), header, file_key):
            stop()
            yield piece


class _Chain(io.RawIOBase):
    """Bytes and files one after the other."""

    def __init__(self, sources: Iterable[bytes | Path]) -> None:
        super().__init__()
        self._left = list(sources)
        self._now: BinaryIO | None = None

    def readable(self) -> bool:
        return True

    def read(self, size: int = -1) -> bytes:
        while True:
            if self._now is None:
                if not self._left:
                    return b""
                first = self._left.pop(0)
                self._now = io.BytesIO(first) if isinstance(first, bytes) else first.open("rb")
            if part := self._now.read(size):
                return part
            self._now.close()
            self._now = None

    def close(self) -> None:
        if self._now is not None:
            self._now.close()
        super().close()


def read_opening(path: Path) -> tuple[Opening, bytes, bytes]:
    """Return the opening, the public key of the file's own pair, and all bytes up to the stream."""
    name = path.name
    try:
        with path.open("rb") as file:
            start = file.read(len(_MAGIC) + 4)
            if start[: len(_MAGIC)] != _MAGIC or len(start) != len(_MAGIC) + 4:
                raise BackupError(f"{name} is no backup of chordline, or of another version")
            length = int.from_bytes(start[-4:], "big")
            if length > _LONGEST_OPENING:
                raise damaged(name)
            text = file.read(length)
    except OSError as error:
        raise BackupError(f"{name} cannot be read ({error.strerror or error})") from None
    if len(text) != length:
        raise damaged(name)
    try:
        unpacker = zlib.decompressobj()
        record = json.loads(unpacker.decompress(text, _LONGEST_UNPACKED))
        if record["schema"] != _SCHEMA:
            raise BackupError(f"{name} was made by a newer chordline; install that version")
        return _opening(record), bytes.fromhex(record["agreed"]), start + text
    except (ValueError, KeyError, TypeError, AttributeError, zlib.error, RecursionError):
        raise damaged(name) from None


@dataclass
class OpenedBackup:
    """Implements `BackupFile`."""

    path: Path
    manifest: Manifest
    _reader: SealedReader
    _places: dict[str, tuple[int, int]]

    def part(self, name: str, into: Path, stop: Stop = lambda: None) -> None:
        """Unpack a part into a file."""
        with into.open("wb") as file:
            for piece in self._unpacked(name):
                stop()
                file.write(piece)
            file.flush()
            os.fsync(file.fileno())

    def check(self, stop: Stop) -> None:
        """Read everything."""
        for part in self.manifest.parts:
            for _ in self._unpacked(part.name):
                stop()

    def close(self) -> None:
        """Let go of the file."""
        self._reader.close()

    def _unpacked(self, name: str) -> Iterator[bytes]:
        told = next(one for one in self.manifest.parts if one.name == name)
        start, length = self._places[name]
        self._reader.seek(start)
        digest, size, unpacker = hashlib.sha256(), 0, zlib.decompressobj()
        while length > 0:
            piece = self._reader.read(min(length, 1 << 18))
            if not piece:
                raise damaged(self.path.name)
            length -= len(piece)
            while piece:
                try:
                    out = unpacker.decompress(piece, _PIECE)
                except zlib.error:
                    raise damaged(self.path.name) from None
                piece = unpacker.unconsumed_tail
                size += len(out)
                if size > told.size_bytes:
                    raise damaged(self.path.name)
                digest.update(out)
                yield out
        # What zlib still held back.
        rest = unpacker.flush()
        size += len(rest)
        digest.update(rest)
        yield rest
        if size != told.size_bytes or digest.hexdigest() != told.sha256 or not unpacker.eof:
            raise damaged(self.path.name)


def open_container(path: Path, key: ReadingKeys | bytes) -> OpenedBackup:
    """Open a backup file with the club's keys, or with the key of this one file.

    Raises
    ------
    BackupError
        Where it is damaged, or of another club.
    """
    _, agreed, before = read_opening(path)
    try:
        file_key = key if isinstance(key, bytes) else key.file_key(agreed, before)
    except ValueError:
        raise damaged(path.name) from None
    refuse = damaged(path.name)
    bound = hashlib.sha256(before).digest()[:16]

    def of_this_file(header: Header) -> bytes:
        if header.key_id != bound:
            raise refuse
        return file_key

    behind = _Behind(path.open("rb"), len(before))
    try:
        reader = SealedReader(cast("BinaryIO", behind), of_this_file, refuse=lambda: refuse)
        told = _told_first(reader)
        manifest, packed = _manifest(json.loads(told))
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
        behind.close()
        raise refuse from None
    except BaseException:
        behind.close()
        raise
    places, at = {}, 8 + len(told)
    for part, size in zip(manifest.parts, packed, strict=True):
        places[part.name] = (at, size)
        at += size
    return OpenedBackup(path, manifest, reader, places)


def _told_first(reader: SealedReader) -> bytes:
    """Return the manifest; raise `ValueError` where its length is none."""
    length = int.from_bytes(reader.read(8) or b"", "big")
    if not 0 < length <= _LONGEST_MANIFEST:
        raise ValueError
    told = bytearray()
    while len(told) < length and (piece := reader.read(length - len(told))):
        told += piece
    return bytes(told)


class _Behind:
    """A file as it begins behind its first bytes; the part of a file that `SealedReader` needs."""

    def __init__(self, file: BinaryIO, start: int) -> None:
        self._file = file
        self._start = start
        file.seek(start)

    def read(self, size: int = -1) -> bytes:
        return self._file.read(size)

    def seek(self, offset: int, whence: int = os.SEEK_SET) -> int:
        if whence == os.SEEK_SET:
            offset += self._start
        return max(0, self._file.seek(offset, whence) - self._start)

    def close(self) -> None:
        self._file.close()


def _canonical(record: dict[str, Any]) -> bytes:
    return json.dumps(record, sort_keys=True, separators=(",", ":")).encode()


def _opening_record(one: Opening) -> dict[str, Any]:
    return {
        "schema": _SCHEMA,
        "made_at": one.made_at.isoformat(),
        "club_key": one.club_key.decode(),
        "needs_no_passphrase": one.needs_no_passphrase,
        "key_id": one.key_id,
        "pictures": [[each.name, each.size_bytes, each.sha256] for each in one.pictures],
    }


def _opening(record: dict[str, Any]) -> Opening:
    pictures = []
    for name, size_bytes, sha256 in record["pictures"]:
        # Nothing else may become a path.
        if not SEALED_NAME.fullmatch(name) or not _is_sha256(sha256) or int(size_bytes) < 0:
            raise ValueError
        pictures.append(SealedPicture(name, int(size_bytes), sha256))
    return Opening(
        made_at=_moment(record["made_at"]),
        club_key=record["club_key"].encode(),
        needs_no_passphrase=bool(record["needs_no_passphrase"]),
        key_id=str(record["key_id"]),
        pictures=tuple(pictures),
    )


def _manifest_record(one: Manifest, packed: Sequence[int]) -> dict[str, Any]:
    return {
        "made_at": one.made_at.isoformat(),
        "version": one.version,
        "revision": one.revision,
        "counts": dict(one.counts),
        "missing": list(one.missing),
        "parts": [
            {
                "name": part.name,
                "size_bytes": part.size_bytes,
                "sha256": part.sha256,
                "packed_bytes": size,
            }
            for part, size in zip(one.parts, packed, strict=True)
        ],
    }


def _manifest(record: dict[str, Any]) -> tuple[Manifest, list[int]]:
    parts = [
        Part(str(one["name"]), int(one["size_bytes"]), str(one["sha256"]))
        for one in record["parts"]
    ]
    made = Manifest(
        made_at=_moment(record["made_at"]),
        version=str(record["version"]),
        revision=str(record["revision"]),
        counts={str(table): int(rows) for table, rows in record["counts"].items()},
        parts=tuple(parts),
        missing=tuple(map(str, record["missing"])),
    )
    return made, [int(one["packed_bytes"]) for one in record["parts"]]


def _moment(text: str) -> datetime:
    moment = datetime.fromisoformat(text)
    if moment.tzinfo is None:
        raise ValueError
    return moment


def _is_sha256(text: str) -> bool:
    return len(bytes.fromhex(text)) == hashlib.sha256().digest_size
