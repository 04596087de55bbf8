"""What gymnasts are called on a wall: as short as nobody else in the group is called."""

from collections import Counter
from collections.abc import Mapping


def called(names: Mapping[int, str]) -> dict[int, str]:
    """Return first names; two of one first name get the letter of their last name, or all of it.

    Examples
    --------
    >>> called({1: "Ada Berg", 2: "Ada Lund", 3: "Bea Holm"})
    {1: 'Ada B.', 2: 'Ada L.', 3: 'Bea'}
    """
    said = {id_: name.split()[0] if name.split() else name for id_, name in names.items()}
    for shorten in (_with_letter, str):
        often = Counter(said.values())
        said = {
            id_: shorten(names[id_]) if often[short] > 1 else short for id_, short in said.items()
        }
    return said


def _with_letter(name: str) -> str:
    parts = name.split()
    return name if len(parts) < 2 else f"{parts[0]} {parts[-1][0]}."
