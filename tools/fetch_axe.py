"""Fetches axe-core for the accessibility tests: npm's package, checked, one file of it kept.

    python tools/fetch_axe.py

Mozilla Public License 2.0; it is used by tests only and never committed.
"""

import base64
import hashlib
import subprocess
import sys
import tarfile
import tempfile
from pathlib import Path

PACKAGE = "axe-core@4.14.1"
SHA512 = "FHfa+lmNjQZfJz1q8wKqIDwC6DExcHt/pkjNQb09a3NPjCKg2rhu5qb2S4r76ASyFNNtuFooJpZe37OgudVGtQ=="
PATH = Path(__file__).resolve().parents[1] / "build" / "axe" / "axe.min.js"
_MEMBER = "package/axe.min.js"


def main() -> None:
    """Fetch, check and unpack."""
    with tempfile.TemporaryDirectory() as folder:
        subprocess.run(
            ["npm", "pack", "--silent", PACKAGE], cwd=folder, check=True, stdout=subprocess.DEVNULL
        )
        (packed,) = Path(folder).glob("*.tgz")
        found = base64.b64encode(hashlib.sha512(packed.read_bytes()).digest()).decode("ascii")
        if found != SHA512:
            sys.exit(f"{PACKAGE}: its SHA-512 is {found}, not the expected one; nothing was kept")
        with tarfile.open(packed) as archive:
            member = archive.extractfile(_MEMBER)
            if member is None:
                sys.exit(f"{PACKAGE}: {_MEMBER} is missing")
            PATH.parent.mkdir(parents=True, exist_ok=True)
            PATH.write_bytes(member.read())
    print(f"{PACKAGE}: {PATH.name}, {PATH.stat().st_size / 1000:.0f} kB")


if __name__ == "__main__":
    main()
