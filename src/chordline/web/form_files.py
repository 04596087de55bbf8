"""Files of a plain form while they come in: in memory, and beyond that encrypted on the disk.

The library that reads forms lays what is larger than a megabyte into the system's temporary folder
as it came. A picture of a child would then lie there outside of the vault, and could be undeleted.
"""

import io
import secrets
import tempfile
from typing import Any, Final

from cryptography.hazmat.primitives.ciphers import Cipher
from cryptography.hazmat.primitives.ciphers.algorithms import AES256
from cryptography.hazmat.primitives.ciphers.modes import CTR
from starlette import formparsers

_KEY_BYTES: Final = 32
_BLOCK_BYTES: Final = 16


class FormFile(io.RawIOBase):
    """A file that is written once from its beginning, and then read and sought in.

    Parameters
    ----------
    max_size : int
        What is held in memory [bytes]; what is longer goes to the disk.

    Notes
    -----
    On disk it is AES-256 in counter mode under a key that is random for each file and stands in
    memory alone: with the file's end nothing opens it any more. No place is written twice, so that
    no part of the key stream is used twice. It is not authenticated: nobody else has the file open,
    and it has no name.
    """

    def __init__(self, max_size: int = 0) -> None:
        super().__init__()
        # The library looks at these two to know whether a write has to wait for the disk.
        self._max_size = max_size
        self._rolled = False
        self._file: Any = io.BytesIO()
        self._key = b""
        self._written = 0
        self._at = 0

    def readable(self) -> bool:
        """Return True."""
        return True

    def writable(self) -> bool:
        """Return True."""
        return True

    def seekable(self) -> bool:
        """Return True."""
        return True

    def write(self, content: Any) -> int:
        """Add to the end."""
        if self._at != self._written:
            raise io.UnsupportedOperation("a file of a form is written once")
        piece = bytes(content)
        if not self._rolled and self._written + len(piece) > self._max_size:
            self._roll()
        self._put(piece)
        return len(piece)

    def readinto(self, into: Any) -> int:
        """Read on."""
        self._file.seek(self._at)
        piece = self._file.read(len(into))
        if self._rolled:
            piece = self._crypt(piece, self._at)
        into[: len(piece)] = piece
        self._at += len(piece)
        return len(piece)

    def seek(self, offset: int, whence: int = io.SEEK_SET) -> int:
        """Go to a place."""
        start = {io.SEEK_SET: 0, io.SEEK_CUR: self._at, io.SEEK_END: self._written}[whence]
        if start + offset < 0:
            raise ValueError("a place before the beginning")
        self._at = start + offset
        return self._at

    def tell(self) -> int:
        """Return the place."""
        return self._at

    def close(self) -> None:
        """Let go of the file and of its key."""
        self._file.close()
        self._key = b""
        super().close()

    def _put(self, piece: bytes) -> None:
        self._file.seek(self._at)
        self._file.write(self._crypt(piece, self._at) if self._rolled else piece)
        self._at += len(piece)
        self._written = self._at

    def _roll(self) -> None:
        held = self._file.getvalue()
        self._key = secrets.token_bytes(_KEY_BYTES)
        self._file = tempfile.TemporaryFile()  # noqa: SIM115 - closed with this file
        self._rolled = True
        self._at = 0
        self._put(held)

    def _crypt(self, piece: bytes, at: int) -> bytes:
        """Return a piece that begins at a place encrypted, or decrypted: it is the same."""
        block, before = divmod(at, _BLOCK_BYTES)
        stream = Cipher(AES256(self._key), CTR(block.to_bytes(_BLOCK_BYTES, "big"))).encryptor()
        stream.update(bytes(before))
        return stream.update(piece)


def keep_form_files_sealed() -> None:
    """Let every form of this program be read into files of this kind."""
    formparsers.SpooledTemporaryFile = FormFile  # type: ignore[assignment, attr-defined]
