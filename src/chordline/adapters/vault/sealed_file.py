"""The format of a sealed file: a header, then pieces that are each encrypted and authenticated.

Notes
-----
The STREAM construction of Hoang, Reyhanitabar, Rogaway and Vizár, "Online authenticated-encryption
and its nonce-reuse misuse-resistance" (CRYPTO 2015), over AES-256-GCM: the nonce of a piece is the
file's random prefix, the piece's number and whether it is the last one, so that no piece can be
left out, moved or added unnoticed. The header is associated data of every piece.

Each file has a key of its own, derived with HKDF-SHA256 (RFC 5869) from the data key and the
file's random id: prefixes of different files then never meet under one key, and pieces of two
files cannot be mixed.

=====  ====================================================
bytes  header
=====  ====================================================
4      ``CHSF``
1      version of the format, 1
1      piece length as a power of two (18 = 256 KiB)
2      zero
16     id of the data key
16     id of the file; the second part of its name
7      nonce prefix
1      zero
=====  ====================================================
"""

import io
import os
import secrets
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import BinaryIO, Self

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.kdf.hkdf import HKDF

_MAGIC = b"CHSF"
_VERSION = 1
#: 256 KiB: small beside a picture, large beside what one call costs.
_PIECE_POWER = 18
#: What a reader of this version accepts: 64 KiB to 1 MiB.
_POWERS = range(16, 21)
_TAG_BYTES = 16
_ID_BYTES = 16
_PREFIX_BYTES = 7
#: The counter is one word of 32 bits.
_MOST_PIECES = 2**32
HEADER_BYTES = 48
_PURPOSE = b"chordline sealed file 1"


class DamagedError(Exception):
    """The file was cut, changed or put together from others, or its key is another."""


@dataclass(frozen=True)
class Header:
    """What stands before the pieces.

    Attributes
    ----------
    key_id, file_id : bytes
        16 bytes each.
    prefix : bytes
        7 random bytes.
    power : int
        A piece holds 2**power bytes.
    """

    key_id: bytes
    file_id: bytes
    prefix: bytes
    power: int = _PIECE_POWER

    @classmethod
    def new(cls, key_id: bytes) -> Self:
        """Return a header for a new file."""
        return cls(key_id, secrets.token_bytes(_ID_BYTES), secrets.token_bytes(_PREFIX_BYTES))

    @classmethod
    def read(cls, text: bytes, file_id: bytes | None = None) -> Self:
        """Read a header; raise `DamagedError` where it is none of this version, or another's."""
        if len(text) != HEADER_BYTES or text[:4] != _MAGIC or text[4] != _VERSION:
            raise DamagedError
        read = cls(text[8:24], text[24:40], text[40:47], text[5])
        if read.power not in _POWERS or read.written() != text:
            raise DamagedError
        if file_id is not None and read.file_id != file_id:
            raise DamagedError
        return read

    def written(self) -> bytes:
        """Return the header as bytes."""
        start = _MAGIC + bytes((_VERSION, self.power, 0, 0))
        return start + self.key_id + self.file_id + self.prefix + b"\0"

    def nonce(self, number: int, *, last: bool) -> bytes:
        """Return the nonce of a piece."""
        return self.prefix + number.to_bytes(4, "big") + bytes((last,))


def _cipher(header: Header, data_key: bytes) -> AESGCM:
    derive = HKDF(SHA256(), length=32, salt=header.file_id, info=_PURPOSE)
    return AESGCM(derive.derive(data_key))


def seal(content: BinaryIO, header: Header, data_key: bytes) -> Iterator[bytes]:
    """Yield a sealed file, its header first; memory holds two pieces at most."""
    cipher, text = _cipher(header, data_key), header.written()
    yield text
    length = 1 << header.power
    piece = _read_full(content, length)
    for number in range(_MOST_PIECES):
        following = _read_full(content, length) if len(piece) == length else b""
        last = not following
        yield cipher.encrypt(header.nonce(number, last=last), piece, text)
        if last:
            return
        piece = following
    raise ValueError("a file of more than 2**32 pieces cannot be sealed")


def _read_full(content: BinaryIO, length: int) -> bytes:
    """Read so many bytes, fewer only at the end; a stream may give less at a time."""
    parts: list[bytes] = []
    while length > 0 and (part := content.read(length)):
        parts.append(part)
        length -= len(part)
    return b"".join(parts)


class SealedReader(io.RawIOBase):
    """Reads and seeks in a sealed file, and decrypts the pieces it needs.

    Parameters
    ----------
    file : binary file
        The sealed file; closed together with the reader.
    data_key : callable
        Gives the data key of a header.
    refuse : callable
        Gives the error to raise where the file is damaged.
    file_id : bytes, optional
        What the header must say: the id in the file's name.

    Notes
    -----
    The last piece is decrypted on opening: with it a file that was cut is known at once, and its
    length is certain.
    """

    def __init__(
        self,
        file: BinaryIO,
        data_key: Callable[[Header], bytes],
        *,
        refuse: Callable[[], Exception],
        file_id: bytes | None = None,
    ) -> None:
        super().__init__()
        self._file = file
        self._refuse = refuse
        self._at = 0
        self._number, self._piece = -1, b""
        try:
            self._text = file.read(HEADER_BYTES)
            header = self._header = Header.read(self._text, file_id)
            self._cipher = _cipher(header, data_key(header))
            self._full = 1 << header.power
            self._count, last = self._pieces(file.seek(0, os.SEEK_END) - HEADER_BYTES)
            self._length = (self._count - 1) * self._full + last
            self._open_piece(self._count - 1)
        except DamagedError:
            raise refuse() from None

    def _pieces(self, body: int) -> tuple[int, int]:
        """Return how many pieces there are, and the length of the last one's content."""
        sealed = self._full + _TAG_BYTES
        count = -(-body // sealed)
        last = body - (count - 1) * sealed - _TAG_BYTES
        if not 1 <= count <= _MOST_PIECES or last < 0 or (last == 0 and count > 1):
            raise DamagedError
        return count, last

    def _open_piece(self, number: int) -> bytes:
        if number != self._number:
            sealed = self._full + _TAG_BYTES
            self._file.seek(HEADER_BYTES + number * sealed)
            nonce = self._header.nonce(number, last=number == self._count - 1)
            try:
                piece = self._cipher.decrypt(nonce, _read_full(self._file, sealed), self._text)
            except InvalidTag:
                raise DamagedError from None
            self._number, self._piece = number, piece
        return self._piece

    def readinto(self, into: "memoryview | bytearray") -> int:  # type: ignore[override]
        """Read up to the end of a piece."""
        if self._at >= self._length or not len(into):
            return 0
        number, offset = divmod(self._at, self._full)
        try:
            piece = self._open_piece(number)
        except DamagedError:
            raise self._refuse() from None
        part = memoryview(piece)[offset : offset + len(into)]
        into[: len(part)] = part
        self._at += len(part)
        return len(part)

    def readall(self) -> bytes:
        """Read to the end."""
        whole = bytearray(max(0, self._length - self._at))
        view, filled = memoryview(whole), 0
        while filled < len(whole):
            filled += self.readinto(view[filled:])
        return bytes(whole)

    def seek(self, offset: int, whence: int = os.SEEK_SET) -> int:
        """Go to a place of the content."""
        start = {os.SEEK_SET: 0, os.SEEK_CUR: self._at, os.SEEK_END: self._length}[whence]
        if start + offset < 0:
            raise ValueError("a place before the beginning")
        self._at = start + offset
        return self._at

    def tell(self) -> int:
        """Return the place."""
        return self._at

    def readable(self) -> bool:
        """Return that it can be read."""
        return True

    def seekable(self) -> bool:
        """Return that it can be sought in."""
        return True

    def close(self) -> None:
        """Let go of the file and of what was decrypted."""
        self._piece = b""
        self._file.close()
        super().close()
