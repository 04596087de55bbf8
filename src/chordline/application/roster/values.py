"""What the cells of a roster mean, and why some mean nothing: refused, never repaired."""

import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Final

from chordline.application.club.growth_reference import GrowthReference
from chordline.application.club.names import name_key
from chordline.application.days import age_on
from chordline.application.roster.reference import read_reference, wrong_reference
from chordline.application.roster.table import Fault

#: Assumptions of this project, no source: the youngest and oldest gymnast that a club takes in.
AGES: Final = (2, 25)
#: Longest name of a gymnast or group that a file brings in [letters].
LONGEST_NAME: Final = 100
#: What the records themselves take (assumptions; a test holds them to the database's rules).
SIZES: Final[Mapping[str, tuple[float, float]]] = {
    "stature_cm": (50.0, 230.0),
    "mass_kg": (5.0, 200.0),
    "sitting_height_cm": (25.0, 130.0),
}
#: Assumption: no gymnast's size lies outside in cm and kg, and hardly one inside in inches or
#: metres (75 inches are 190 cm). Pounds cannot be told so; `MOST_KG_PER_M2` tells them apart.
SIZES_WITHOUT_UNIT: Final[Mapping[str, tuple[float, float]]] = {
    "stature_cm": (75.0, 220.0),
    "mass_kg": (8.0, 120.0),
    "sitting_height_cm": (42.0, 115.0),
}
#: Assumption: mass by squared stature above this, under a header without a unit, is in pounds.
MOST_KG_PER_M2: Final = 30.0
#: Assumption: no consent ends further from now, and no size was measured longer ago [years].
FARTHEST_YEARS: Final = 25

_SAID = {
    **dict.fromkeys(("yes", "y", "true", "1"), True),
    **dict.fromkeys(("no", "n", "false", "0"), False),
}

_ISO = re.compile(r"(\d{4})-(\d{2})-(\d{2})", re.ASCII)
_DAY_AND_MONTH_FIRST = re.compile(r"(\d{1,2})[./ -](\d{1,2})[./ -](\d{4})", re.ASCII)
_NUMBER = re.compile(r"\d+(?:[.,]\d+)?", re.ASCII)
_CARD = re.compile(r"\d{1,3}", re.ASCII)
_GROUP_PART = re.compile(r"(?:\\[\\|;]|[^|;])+")
_ESCAPED = re.compile(r"\\([\\|;])")
_TO_ESCAPE = re.compile(r"[\\|;]")
#: Joiners that some scripts spell names with.
_JOINERS = "\u200c\u200d"


@dataclass(frozen=True)
class RosterValues:
    """A row as values; None or empty = the file says nothing, and nothing is changed."""

    name: str
    card: int | None = None
    birth_date: date | None = None
    growth_reference: GrowthReference | None = None
    stature_cm: float | None = None
    mass_kg: float | None = None
    sitting_height_cm: float | None = None
    measured_on: date | None = None
    groups: tuple[str, ...] = ()
    consent_measure: bool | None = None
    consent_keep_pictures: bool | None = None
    consent_show_to_squad: bool | None = None
    consent_until: date | None = None

    @property
    def sizes(self) -> dict[str, float]:
        """The sizes that are given, by column."""
        return {name: value for name in SIZES if (value := getattr(self, name)) is not None}


@dataclass
class ReadRow:
    """A row's values as far as they can be read.

    Attributes
    ----------
    values : RosterValues
        A column that could not be read is None there, a name empty.
    faults : list of Fault
    doubts : list of Fault
        Faults unless the records hold exactly that value already.
    """

    values: RosterValues
    faults: list[Fault] = field(default_factory=list)
    doubts: list[Fault] = field(default_factory=list)

    def is_unreadable(self, column: str) -> bool:
        """Return whether something is written in a column that could not be read."""
        return any(name == column for name, _ in self.faults)


class _Cells:
    """Reads the cells of one row, collecting what is wrong."""

    def __init__(self, cells: Mapping[str, str], today: date) -> None:
        self._cells = cells
        self._today = today
        self.faults: list[Fault] = []
        self.doubts: list[Fault] = []

    def text(self, column: str) -> str:
        return self._cells.get(column, "").strip()

    def name(self) -> str:
        raw = self.text("name")
        if not name_key(raw):
            self.faults.append(("name", _no_name(raw)))
            return ""
        self.doubts += [("name", odd) for odd in _odd_name(raw)]
        return clean_name(raw)

    def card(self) -> int | None:
        said = self.text("card")
        if not said:
            return None
        if not _CARD.fullmatch(said):
            self.faults.append(("card", f"'{said}' is no card number; write one from 0 to 999"))
            return None
        return int(said)

    def day(self, column: str) -> date | None:
        said = self.text(column)
        if not said:
            return None
        day = _iso_day(said)
        if day is None:
            self.faults.append((column, _wrong_day(said)))
        return day

    def birth_date(self) -> date | None:
        born = self.day("birth_date")
        if born is not None and born > self._today:
            self.faults.append(("birth_date", f"{born} is still to come; check the year"))
            return None
        if born is not None and not AGES[0] <= (age := age_on(self._today, born)) <= AGES[1]:
            self.doubts.append(
                (
                    "birth_date",
                    f"{born} would make her {age} {'year' if age == 1 else 'years'} old; ages "
                    f"from {AGES[0]} to {AGES[1]} are taken in, check the year",
                )
            )
        return born

    def growth_reference(self) -> GrowthReference | None:
        said = self.text("growth_reference")
        if not said:
            return None
        reference = read_reference(said)
        if reference is None:
            self.faults.append(("growth_reference", wrong_reference(said)))
        return reference

    def measured_on(self) -> date | None:
        day = self.day("measured_on")
        if day is not None and day > self._today:
            self.faults.append(("measured_on", f"{day} is still to come; check the date"))
            return None
        if day is not None and day.year < self._today.year - FARTHEST_YEARS:
            self.doubts.append(("measured_on", f"{day} is long ago; check the year"))
        return day

    def consent_until(self) -> date | None:
        day = self.day("consent_until")
        if day is not None and abs(day.year - self._today.year) > FARTHEST_YEARS:
            self.doubts.append(("consent_until", f"{day} is far from now; check the year"))
        return day

    def consent(self, column: str) -> bool | None:
        said = self.text(column)
        if not said:
            return None
        if said.casefold() not in _SAID:
            self.faults.append((column, f"'{said}' is neither yes nor no; write one of them"))
        return _SAID.get(said.casefold())

    def size(self, column: str) -> float | None:
        said = self.text(column)
        if not said:
            return None
        unit = column.rpartition("_")[2]
        value = plain_number(said)
        if value is None:
            self.faults.append(
                (column, f"'{said}' is no number; write the {unit} alone, such as {_example(unit)}")
            )
            return None
        low, high = SIZES[column]
        if not low <= value <= high:
            self.faults.append(
                (column, f"{said} is not possible; write {unit}, from {low:g} to {high:g}")
            )
            return None
        return value


def read_row(cells: Mapping[str, str], *, today: date) -> ReadRow:
    """Return the values of a row with everything that is wrong in it.

    Parameters
    ----------
    cells : mapping
        Column of `COLUMNS` to its text.
    today : date
    """
    read = _Cells(cells, today)
    values = RosterValues(
        card=read.card(),
        name=read.name(),
        birth_date=read.birth_date(),
        growth_reference=read.growth_reference(),
        stature_cm=read.size("stature_cm"),
        mass_kg=read.size("mass_kg"),
        sitting_height_cm=read.size("sitting_height_cm"),
        measured_on=read.measured_on(),
        groups=split_groups(read.text("group")),
        consent_measure=read.consent("consent_measure"),
        consent_keep_pictures=read.consent("consent_keep_pictures"),
        consent_show_to_squad=read.consent("consent_show_to_squad"),
        consent_until=read.consent_until(),
    )
    return ReadRow(values, read.faults, read.doubts)


def clean_name(raw: str) -> str:
    """Return a name as the records keep it: single spaces, letters composed with their accents."""
    return unicodedata.normalize("NFC", " ".join(raw.split()))


def split_groups(cell: str) -> tuple[str, ...]:
    """Return the groups of a cell, once each; ``|`` and ``;`` stand between them.

    A group whose own name holds one of these is written with a backslash before it.

    Examples
    --------
    >>> split_groups(r"Level 3 | Mon; Wed\\;Fri")
    ('Level 3', 'Mon', 'Wed;Fri')
    """
    parts = (_ESCAPED.sub(r"\1", part).strip() for part in _GROUP_PART.findall(cell))
    named: dict[str, str] = {}
    for part in filter(None, parts):
        named.setdefault(name_key(part) or part, part)
    return tuple(named.values())


def join_groups(names: tuple[str, ...]) -> str:
    """Return the cell that `split_groups` takes apart again."""
    return " | ".join(_TO_ESCAPE.sub(r"\\\g<0>", name) for name in names)


def wrong_group(name: str) -> str | None:
    """Return what is wrong with the name of a group that is to be made; None = nothing."""
    return "; ".join(_odd_name(name) if name_key(name) else [_no_name(name)]) or None


def plain_number(said: str) -> float | None:
    """Return the number in a cell, with a decimal point or comma; None where it is none."""
    return float(said.replace(",", ".")) if _NUMBER.fullmatch(said) else None


def write_number(value: float) -> str:
    """Return a number such that reading it gives the same number."""
    return repr(value).removesuffix(".0")


def _no_name(raw: str) -> str:
    return f"'{raw}' has no letter; write the name" if raw else "is empty; write the name"


def _odd_name(raw: str) -> list[str]:
    odd = []
    hidden = next(filter(_is_hidden, raw), None)
    if hidden is not None:
        what = "a line break or tab" if hidden in "\n\r\t\v\f" else f"U+{ord(hidden):04X}"
        odd.append(f"holds a sign that cannot be seen ({what}); write the name anew")
    if len(raw) > LONGEST_NAME:
        odd.append(f"{len(raw)} letters are too many for a name; {LONGEST_NAME} are possible")
    return odd


def _is_hidden(sign: str) -> bool:
    kind = unicodedata.category(sign)
    return (kind[0] == "C" or kind in ("Zl", "Zp") or sign == "\ufffd") and sign not in _JOINERS


def _iso_day(said: str) -> date | None:
    if not _ISO.fullmatch(said):
        return None
    try:
        return date.fromisoformat(said)
    except ValueError:
        return None


def _wrong_day(said: str) -> str:
    if _ISO.fullmatch(said):
        return f"{said} is not in the calendar; check day and month"
    other = _DAY_AND_MONTH_FIRST.fullmatch(said)
    if other is None:
        return f"'{said}' is no date that is understood; write it like 2016-04-03"
    first, second, year = other.groups()
    ways = [f"{year}-{month:0>2}-{day:0>2}" for day, month in ((first, second), (second, first))]
    possible = sorted({way for way in ways if _iso_day(way)}, reverse=True)
    if not possible:
        return f"{said} is not in the calendar; write it like 2016-04-03"
    if len(possible) == 1:
        return f"{said} is not the way dates are written here; write {possible[0]}"
    return f"{said} could be {' or '.join(possible)}; write the one that is meant"


def _example(unit: str) -> str:
    return "34.5" if unit == "kg" else "141.5"
