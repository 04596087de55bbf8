"""When two names are one."""

import unicodedata


def name_key(name: str) -> str:
    """Return what two spellings of one name share: no case, accents, signs or spare spaces.

    Examples
    --------
    >>> name_key("Zoë  Ångström-Lindqvist")
    'zoe angstrom lindqvist'
    """
    plain = unicodedata.normalize("NFKD", name.casefold())
    letters = (one if one.isalnum() else " " for one in plain if not unicodedata.combining(one))
    return " ".join("".join(letters).split())
