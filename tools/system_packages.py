"""Installs the Debian packages that the tests need, where this runs as root on Debian.

Elsewhere it says what is missing; the tests that need it then skip with the reason.
"""

import os
import shutil
import subprocess
import sys

#: Program that must be there → package that brings it.
WANTED = {"pdftoppm": "poppler-utils"}


def main() -> None:
    """Install what is missing."""
    missing = [package for program, package in WANTED.items() if shutil.which(program) is None]
    if not missing:
        return
    if shutil.which("apt-get") is None or not hasattr(os, "geteuid") or os.geteuid() != 0:
        print(f"not installed, and not root on Debian: {', '.join(missing)}", file=sys.stderr)
        return
    environment = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
    for command in (["apt-get", "update", "-qq"], ["apt-get", "install", "-y", "-qq", *missing]):
        subprocess.run(command, check=True, env=environment, stdout=subprocess.DEVNULL)


if __name__ == "__main__":
    main()
