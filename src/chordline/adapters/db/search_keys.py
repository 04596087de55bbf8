"""What a name is searched and sorted by."""

from chordline.application.club import names


def name_key(name: str) -> str:
    """Return a name's key: lower case, without accents, one space before each word.

    Examples
    --------
    >>> name_key("Zoë  Ångström-Lindqvist")
    ' zoe angstrom lindqvist'
    """
    return "".join(f" {word}" for word in names.name_key(name).split())


def search_patterns(text: str) -> tuple[str, ...]:
    """Return LIKE patterns that all have to fit: each word begins a word of the name.

    Letters and digits only are left of the text, so that nothing in it is read as a wildcard.

    Examples
    --------
    >>> search_patterns("ang zoë")
    ('% ang%', '% zoe%')
    """
    return tuple(f"% {word}%" for word in name_key(text).split())
