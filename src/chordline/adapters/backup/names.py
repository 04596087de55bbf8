"""Names of sealed files, which alone may become paths."""

import re

#: The id of its data key, and its own.
SEALED_NAME = re.compile(r"sealed-([0-9a-f]{32})-([0-9a-f]{32})", re.ASCII)
PLAIN_NAME = re.compile(r"plain-[0-9a-f]{64}", re.ASCII)


def within(name: str) -> str:
    """Return where a sealed file lies in its folder: spread over 256, as in the club's own."""
    found = SEALED_NAME.fullmatch(name)
    if found is None:
        raise ValueError(name)
    return f"{found[2][:2]}/{name}"


def key_id_of(name: str) -> str:
    """Return the id of the data key that a sealed file needs."""
    found = SEALED_NAME.fullmatch(name)
    if found is None:
        raise ValueError(name)
    return found[1]
