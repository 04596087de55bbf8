"""Installs the Debian packages that the tests need, where this runs as root on Debian.

Elsewhere it says what is missing; the tests that need it then skip with the reason.
"""

import os
import shutil
import subprocess
import sys
from pathlib import Path

#: Program that must be there → package that brings it.
WANTED = {"pdftoppm": "poppler-utils", "initdb": "postgresql", "chromium": "chromium"}
#: Where Debian keeps programs that are not on the path.
HIDDEN = Path("/usr/lib/postgresql")


def main() -> None:
    """Install what is missing."""
    missing = [package for program, package in WANTED.items() if not is_there(program)]
    if not missing:
        return
    if shutil.which("apt-get") is None or not hasattr(os, "geteuid") or os.geteuid() != 0:
        print(f"not installed, and not root on Debian: {', '.join(missing)}", file=sys.stderr)
        return
    environment = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
    for command in (["apt-get", "update", "-qq"], ["apt-get", "install", "-y", "-qq", *missing]):
        subprocess.run(command, check=True, env=environment, stdout=subprocess.DEVNULL)


def is_there(program: str) -> bool:
    """Return whether a program is on the path or where Debian hides it."""
    return shutil.which(program) is not None or any(HIDDEN.glob(f"*/bin/{program}"))


if __name__ == "__main__":
    main()
