"""What a name is searched and sorted by."""

import unicodedata


def name_key(name: str) -> str:
    """Return a name's key: lower case, without accents, one space before each word.

    Examples
    --------
    >>> name_key("Zoë  Ångström-Lindqvist")
    ' zoe angstrom lindqvist'
    """
    plain = unicodedata.normalize("NFKD", name.casefold())
    letters = (one if one.isalnum() else " " for one in plain if not unicodedata.combining(one))
    return "".join(f" {word}" for word in "".join(letters).split())


def search_patterns(text: str) -> tuple[str, ...]:
    """Return LIKE patterns that all have to fit: each word begins a word of the name.

    Letters and digits only are left of the text, so that nothing in it is read as a wildcard.

    Examples
    --------
    >>> search_patterns("ang zoë")
    ('% ang%', '% zoe%')
    """
    return tuple(f"% {word}%" for word in name_key(text).split())
