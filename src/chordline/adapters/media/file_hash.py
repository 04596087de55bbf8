"""Names files by their bytes."""

import hashlib
from pathlib import Path

from chordline.errors import PictureError


class DiskFileHasher:
    """Implements `FileHasher`."""

    def sha256_of(self, path: Path) -> str:
        """Return the hexadecimal SHA-256; raise `PictureError` where the file cannot be read."""
        try:
            with path.open("rb") as file:
                return hashlib.file_digest(file, "sha256").hexdigest()
        except OSError as error:
            raise PictureError(path.name, f"cannot be read ({error.strerror})") from None
