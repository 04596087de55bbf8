"""What a file from outside is called here: something to say and show, never a way to a file."""

import unicodedata
from typing import Final

#: Longest name that is kept.
LONGEST_NAME: Final = 255


def own_name(said: str, *, otherwise: str) -> str:
    """Return a file's own name without folders and without signs that cannot be seen.

    Control signs, among them the zero that a database refuses, and the marks that turn the
    direction of writing, which make ``gpj.exe`` look like ``exe.jpg``, are left out.

    Parameters
    ----------
    said : str
        As the client called it.
    otherwise : str
        The name of a file without one.

    Examples
    --------
    >>> own_name("C:\\\\photos\\\\13_\\u202eprone.jpg", otherwise="photo")
    '13_prone.jpg'
    """
    last = said.replace("\\", "/").rpartition("/")[2]
    seen = "".join(
        one for one in last if one.isspace() or not unicodedata.category(one).startswith("C")
    )
    name = " ".join(seen.split())[-LONGEST_NAME:].strip()
    return name if name.strip(".") else otherwise
