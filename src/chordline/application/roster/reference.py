"""Which growth table a row means, in the words that lists of children are written with."""

import unicodedata
from collections import defaultdict
from collections.abc import Mapping, Sequence
from typing import Final

from chordline.application.club.growth_reference import GrowthReference
from chordline.application.roster.table import Fault

COLUMN: Final = "growth_reference"

#: Without accents and capitals.
_WORDS: Final[Mapping[GrowthReference, tuple[str, ...]]] = {
    "girls": (
        *("girls", "girl", "f", "female", "feminine"),
        *("w", "weiblich", "madchen", "maedchen"),
        *("fille", "filles", "feminin"),
    ),
    "boys": (
        *("boys", "boy", "m", "male", "masculine"),
        *("mannlich", "maennlich", "junge", "jungen"),
        *("garcon", "garcons", "masculin"),
    ),
}
_MEANT: Final = {word: reference for reference, words in _WORDS.items() for word in words}
#: Written with `j` for Jungen, `m` stands for Mädchen.
_BOYS_WHERE_M_IS_A_GIRL: Final = "j"


def read_reference(said: str) -> GrowthReference | None:
    """Return the table that a word means; None where it is no word for one."""
    return _MEANT.get(_plain(said))


def wrong_reference(said: str) -> str:
    """Return why a word is not understood, and what to write."""
    return f"'{said}' names neither girls nor boys; write one of them, or leave the cell empty"


def find_doubtful_references(
    lines: Sequence[tuple[int, Mapping[str, str]]],
) -> dict[int, list[Fault]]:
    """Return, by line, why a word that is understood alone is unclear beside the others.

    Parameters
    ----------
    lines : sequence of (int, mapping)
        Line of the file, and its text by column of `COLUMNS`.
    """
    said = [(line, _plain(cells.get(COLUMN, ""))) for line, cells in lines]
    other = next((line for line, word in said if word == _BOYS_WHERE_M_IS_A_GIRL), None)
    faults: dict[int, list[Fault]] = defaultdict(list)
    for line, word in said:
        if word == "m" and other is not None:
            faults[line].append(
                (
                    COLUMN,
                    f"'m' could be Mädchen or male, as line {other} says "
                    f"'{_BOYS_WHERE_M_IS_A_GIRL}'; write girls or boys",
                )
            )
    return faults


def _plain(said: str) -> str:
    decomposed = unicodedata.normalize("NFKD", said.strip().casefold())
    return "".join(one for one in decomposed if not unicodedata.combining(one)).rstrip(".")
