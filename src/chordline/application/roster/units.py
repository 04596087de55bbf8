"""Columns whose unit is in doubt: believed only where every value can be of our own unit."""

from collections import defaultdict
from collections.abc import Mapping, Sequence

from chordline.application.roster.columns import Header
from chordline.application.roster.table import Fault
from chordline.application.roster.values import (
    MOST_KG_PER_M2,
    SIZES_WITHOUT_UNIT,
    plain_number,
)

Lines = Sequence[tuple[int, Mapping[str, str]]]


def find_doubtful_units(header: Header, lines: Lines) -> dict[int, list[Fault]]:
    """Return, by line, why the sizes in a column cannot be used.

    Parameters
    ----------
    header : Header
    lines : sequence of (int, mapping)
        Line of the file, and its text by column of `COLUMNS`.
    """
    faults: dict[int, list[Fault]] = defaultdict(list)
    for column in SIZES_WITHOUT_UNIT:
        sentence = _why(column, header, lines)
        if sentence is None:
            continue
        for line, cells in lines:
            if cells.get(column, "").strip():
                faults[line].append((column, sentence))
    return faults


def _why(column: str, header: Header, lines: Lines) -> str | None:
    unit = column.rpartition("_")[2]
    spelled = header.spelled.get(column, "")
    instead = f"call it {column} and write {unit}"
    if column in header.other_unit:
        return f"the column '{spelled}' is not in {unit}; {instead}"
    if column not in header.unit_unsaid:
        return None
    for line, cells in lines:
        if _is_implausible(column, cells):
            return (
                f"the column '{spelled}' does not say its unit, and '{cells[column].strip()}' on "
                f"line {line} is hardly {unit}; {instead}"
            )
    return None


def _is_implausible(column: str, cells: Mapping[str, str]) -> bool:
    value = plain_number(cells.get(column, "").strip())
    if value is None:
        return False
    low, high = SIZES_WITHOUT_UNIT[column]
    if not low <= value <= high:
        return True
    stature_cm = plain_number(cells.get("stature_cm", "").strip())
    if column != "mass_kg" or stature_cm is None:
        return False
    shortest, tallest = SIZES_WITHOUT_UNIT["stature_cm"]
    stature_m = stature_cm / 100.0
    return shortest <= stature_cm <= tallest and value / stature_m**2 > MOST_KG_PER_M2
