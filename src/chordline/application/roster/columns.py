"""The columns of a roster file and the spellings of them that are understood."""

import re
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from chordline.errors import RefusedInputError

#: What an import takes and an export writes, in this order.
COLUMNS: Final = (
    "card",
    "name",
    "birth_date",
    "growth_reference",
    "stature_cm",
    "mass_kg",
    "sitting_height_cm",
    "measured_on",
    "group",
    "consent_measure",
    "consent_keep_pictures",
    "consent_show_to_squad",
    "consent_until",
)

#: Column → other spellings. Case, accents, spaces, brackets and underscores do not matter.
SPELLINGS: Final[Mapping[str, tuple[str, ...]]] = {
    "card": ("card number", "card no"),
    "name": ("full name", "gymnast"),
    "birth_date": ("birthdate", "date of birth", "birthday", "born", "dob"),
    "growth_reference": ("growth table", "sex", "gender", "geschlecht", "sexe"),
    "stature_cm": ("height cm", "standing height cm"),
    "mass_kg": ("weight kg", "body mass kg"),
    "sitting_height_cm": ("seated height cm",),
    "measured_on": ("measured", "date measured", "measurement date"),
    "group": ("groups", "squad", "squads"),
    "consent_measure": ("may measure",),
    "consent_keep_pictures": ("may keep pictures", "keep pictures"),
    "consent_show_to_squad": ("may show to squad", "show to squad"),
    "consent_until": ("consent ends",),
}

#: Spellings without a unit: believed only where every value can be of the column's own unit.
WITHOUT_UNIT: Final[Mapping[str, tuple[str, ...]]] = {
    "stature_cm": ("stature", "height", "standing height"),
    "mass_kg": ("mass", "weight", "body mass"),
    "sitting_height_cm": ("sitting height", "seated height"),
}

_OTHER_UNITS = frozenset(
    [
        "m",
        "metre",
        "metres",
        "meter",
        "meters",
        "mm",
        "in",
        "inch",
        "inches",
        "ft",
        "feet",
        "foot",
        "lb",
        "lbs",
        "pound",
        "pounds",
        "st",
        "stone",
        "g",
    ]
)
_PARTS_OF_NAMES = frozenset(
    [
        "first_name",
        "last_name",
        "given_name",
        "family_name",
        "surname",
        "forename",
        "firstname",
        "lastname",
    ]
)


@dataclass(frozen=True)
class Header:
    """Which column of the file is which.

    Attributes
    ----------
    spelled : mapping
        Column to its spelling in the file.
    unit_unsaid : frozenset
        Columns whose spelling has no unit.
    other_unit : frozenset
        Columns whose spelling has another unit than ours.
    unknown : tuple of str
        Spellings that mean nothing here; not read.
    """

    spelled: Mapping[str, str]
    unit_unsaid: frozenset[str]
    other_unit: frozenset[str]
    unknown: tuple[str, ...]


def _plain(spelling: str) -> str:
    decomposed = unicodedata.normalize("NFKD", spelling.casefold())
    letters = "".join(one for one in decomposed if not unicodedata.combining(one))
    return "_".join(re.findall(r"[^\W_]+", letters))


_KNOWN = {
    _plain(spelling): column for column in COLUMNS for spelling in (column, *SPELLINGS[column])
}
_UNSAID = {_plain(spelling): column for column, many in WITHOUT_UNIT.items() for spelling in many}


def _column_of(spelling: str) -> tuple[str | None, str]:
    """Return (column, what its unit is: 'ours', 'unsaid' or 'other')."""
    plain = re.sub(r"_in_(cm|kg)$", r"_\1", _plain(spelling))
    if plain in _KNOWN:
        return _KNOWN[plain], "ours"
    if plain in _UNSAID:
        return _UNSAID[plain], "unsaid"
    stem, _, unit = plain.rpartition("_")
    if unit in _OTHER_UNITS and stem.removesuffix("_in") in _UNSAID:
        return _UNSAID[stem.removesuffix("_in")], "other"
    return None, ""


def read_header(columns: Sequence[str]) -> Header:
    """Return which column is which.

    Raises
    ------
    RefusedInputError
        Where no column holds names, or two columns would be the same one.
    """
    spelled: dict[str, str] = {}
    units: dict[str, str] = {}
    unknown = []
    for spelling in columns:
        column, unit = _column_of(spelling)
        if column is None:
            unknown.append(spelling)
        elif column in spelled:
            raise RefusedInputError(
                f"the columns '{spelled[column]}' and '{spelling}' both mean {column}; "
                "leave one of them out"
            )
        else:
            spelled[column], units[column] = spelling, unit
    if "name" not in spelled:
        raise RefusedInputError(_no_names(columns, found=bool(spelled)))
    return Header(
        spelled,
        frozenset(column for column, unit in units.items() if unit == "unsaid"),
        frozenset(column for column, unit in units.items() if unit == "other"),
        tuple(unknown),
    )


def _no_names(columns: Sequence[str], *, found: bool) -> str:
    if any(_plain(column) in _PARTS_OF_NAMES for column in columns):
        return "the name stands in two columns; put it whole into one column called name"
    if found:
        return "no column is called name; call the column with the gymnasts' names so"
    shown = ", ".join(f"'{column}'" for column in columns[:3])
    return (
        f"the first line names no column that is known here (it begins with {shown}); "
        f"write a first line with names such as {', '.join(COLUMNS[:4])}"
    )
