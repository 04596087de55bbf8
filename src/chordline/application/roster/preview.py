"""What a roster would do to the club, line by line, before anything is done."""

import unicodedata
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from math import isclose
from typing import Any, Literal

from chordline.application.club.consent import stand_of
from chordline.application.club.names import name_key
from chordline.application.club.ports import Tx
from chordline.application.club.records import BodySize, GymnastRecord
from chordline.application.roster.columns import COLUMNS, Header, read_header
from chordline.application.roster.match import (
    ClubNow,
    MatchedRow,
    find_taken_cards,
    groups_by_gymnast,
    match_rows,
)
from chordline.application.roster.reference import find_doubtful_references
from chordline.application.roster.table import Fault, RosterRow, RosterTable
from chordline.application.roster.units import find_doubtful_units
from chordline.application.roster.values import (
    ReadRow,
    RosterValues,
    join_groups,
    read_row,
    write_number,
    wrong_group,
)

Effect = Literal["new", "changes", "same", "bad"]

#: More screens than anybody has: all of hers.
_ALL_SCREENS = 10_000


@dataclass(frozen=True)
class FieldChange:
    """What stands in a column now and what would; empty = nothing recorded."""

    column: str
    before: str
    after: str


@dataclass(frozen=True)
class RosterLine:
    """What one row of the file would do.

    Attributes
    ----------
    line : int
        In the file.
    cells : mapping
        Column of `COLUMNS` to the text in the file; columns that the file lacks are missing.
    effect : {'new', 'changes', 'same', 'bad'}
    values : RosterValues or None
        None where the row is bad.
    gymnast_id : int or None
        Of the gymnast of the club that the row is about.
    changes : tuple of FieldChange
        Of a gymnast of the club; empty for a new one.
    faults : tuple of Fault
        Everything that is wrong, in the order of the columns.
    remark : str
        What should be looked at though nothing is wrong; empty where there is nothing.
    """

    line: int
    cells: Mapping[str, str]
    effect: Effect
    values: RosterValues | None
    gymnast_id: int | None
    changes: tuple[FieldChange, ...] = ()
    faults: tuple[Fault, ...] = ()
    remark: str = ""


@dataclass(frozen=True)
class RosterPreview:
    """What a roster would do.

    Attributes
    ----------
    lines : tuple of RosterLine
        Every row, in the order of the file.
    unknown_columns : tuple of str
        Spellings that mean nothing here; what stands below them is not read.
    new_groups : tuple of str
        Groups that would be made for the rows that are not bad.
    notes : tuple of str
        How the file was read, where that could have been wrong.
    """

    lines: tuple[RosterLine, ...]
    unknown_columns: tuple[str, ...]
    new_groups: tuple[str, ...]
    notes: tuple[str, ...]

    @property
    def counts(self) -> Mapping[Effect, int]:
        """How many lines there are of each effect."""
        found = Counter(line.effect for line in self.lines)
        return {
            "new": found["new"],
            "changes": found["changes"],
            "same": found["same"],
            "bad": found["bad"],
        }

    def of(self, effect: Effect) -> tuple[RosterLine, ...]:
        """Return the lines of one effect."""
        return tuple(line for line in self.lines if line.effect == effect)


def preview_roster(
    tx: Tx, club_id: int, table: RosterTable, *, today: date, measured_on: date
) -> RosterPreview:
    """Return what a roster would do to the club as a transaction sees it.

    Parameters
    ----------
    tx : Tx
    club_id : int
    table : RosterTable
    today : date
    measured_on : date
        Day of the sizes where a row does not say one.

    Raises
    ------
    RefusedInputError
        Where the header leaves unclear which column holds what.
    """
    header = read_header(table.columns)
    cells = [_known_cells(row.cells, header) for row in table.rows]
    rows = [
        MatchedRow(raw.line, _read(raw, known, header, today))
        for raw, known in zip(table.rows, cells, strict=True)
    ]
    club = ClubNow.read(tx, club_id)
    match_rows(rows, club)
    compared = _Comparison(tx, club_id)
    told = list(zip([row.line for row in rows], cells, strict=True))
    doubtful = find_doubtful_units(header, told)
    unclear = find_doubtful_references(told)
    changes = []
    for row in rows:
        row.row.values = _with_day(row.row.values, measured_on)
        row.faults += _standing_doubts(row)
        row.faults += doubtful.get(row.line, ())
        row.faults += unclear.get(row.line, ())
        changes.append(compared.changes(row))
    find_taken_cards(rows, club)
    lines = tuple(
        _line(row, known, found) for row, known, found in zip(rows, cells, changes, strict=True)
    )
    good = [line.values for line in lines if line.values is not None]
    return RosterPreview(lines, header.unknown, compared.new_groups(good), table.notes)


def _known_cells(cells: Mapping[str, str], header: Header) -> dict[str, str]:
    return {
        column: cells[header.spelled[column]]
        for column in COLUMNS
        if header.spelled.get(column) in cells
    }


def _read(raw: RosterRow, cells: Mapping[str, str], header: Header, today: date) -> ReadRow:
    """Return a row's values; what is wrong with the file itself is not told by its cells too."""
    columns = {spelling: column for column, spelling in header.spelled.items()} | {"": ""}
    faults = [(columns[spelling], said) for spelling, said in raw.faults if spelling in columns]
    told = {column for column, _ in faults}
    if "" in told:
        return ReadRow(RosterValues(""), faults)
    read = read_row(cells, today=today)
    read.faults = [*faults, *(fault for fault in read.faults if fault[0] not in told)]
    return read


def _with_day(values: RosterValues, default: date) -> RosterValues:
    if values.sizes and values.measured_on is None:
        return replace(values, measured_on=default)
    return values


def _standing_doubts(row: MatchedRow) -> list[Fault]:
    """Return the doubts of a row about what the records do not hold already."""
    recorded = {} if row.gymnast is None else _recorded(row.gymnast)
    values = row.row.values
    return [
        (column, sentence)
        for column, sentence in row.row.doubts
        if column not in recorded or recorded[column] != getattr(values, column)
    ]


def _recorded(one: GymnastRecord) -> dict[str, Any]:
    # A no to somebody whom nobody had asked is a change.
    asked = stand_of(one.consent, date.min) != "not_asked"
    return {
        "card": one.card,
        "name": unicodedata.normalize("NFC", one.name),
        "birth_date": one.birth_date,
        "growth_reference": one.growth_reference,
        "consent_measure": one.consent.measure if asked else None,
        "consent_keep_pictures": one.consent.keep_pictures if asked else None,
        "consent_show_to_squad": one.consent.show_to_squad if asked else None,
        "consent_until": one.consent.until,
    }


class _Comparison:
    """Compares rows with what the club has recorded."""

    def __init__(self, tx: Tx, club_id: int) -> None:
        self._tx = tx
        groups = tx.clubs.groups(club_id)
        self._groups = {name_key(group.name) for group in groups}
        self._members = groups_by_gymnast(tx, club_id, groups)

    def changes(self, row: MatchedRow) -> tuple[FieldChange, ...]:
        """Return what a row changes; tell the row what cannot be true beside the records."""
        values, one = row.row.values, row.gymnast
        row.faults += [
            ("group", f"'{name}': {wrong}")
            for name in values.groups
            if name_key(name) not in self._groups and (wrong := wrong_group(name))
        ]
        sizes = (
            ()
            if one is None or not values.sizes
            else self._tx.gymnasts.view(one.id, screens=0).sizes
        )
        row.faults += self._impossible_days(row)
        row.faults += _impossible_sizes(values, sizes)
        if one is None:
            return ()
        changes = {
            column: (before, getattr(values, column))
            for column, before in _recorded(one).items()
            if getattr(values, column) not in (None, before)
        }
        of_day = _of_day(sizes, values.measured_on)
        for column, value in values.sizes.items():
            before = None if of_day is None else getattr(of_day, column)
            # A spreadsheet keeps fifteen digits of a number.
            if before is None or not isclose(before, value, rel_tol=1e-12):
                changes[column] = (before, value)
        found = [FieldChange(name, _text(old), _text(new)) for name, (old, new) in changes.items()]
        return tuple(sorted([*found, *self._joined(one, values)], key=_column_order))

    def new_groups(self, good: Sequence[RosterValues]) -> tuple[str, ...]:
        """Return the groups that rows name and the club has not, once each."""
        named = {name_key(name): name for values in reversed(good) for name in values.groups}
        return tuple(sorted(name for key, name in named.items() if key not in self._groups))

    def _joined(self, one: GymnastRecord, values: RosterValues) -> list[FieldChange]:
        hers = tuple(group.name for group in self._members.get(one.id, ()))
        keys = {name_key(name) for name in hers}
        more = tuple(name for name in values.groups if name_key(name) not in keys)
        return [FieldChange("group", join_groups(hers), join_groups(hers + more))] if more else []

    def _impossible_days(self, row: MatchedRow) -> list[Fault]:
        values, one = row.row.values, row.gymnast
        born = values.birth_date or (None if one is None else one.birth_date)
        faults = []
        if born is not None and values.measured_on is not None and values.measured_on < born:
            faults.append(
                ("measured_on", f"she was born on {born}, after {values.measured_on}; check both")
            )
        if one is not None and values.birth_date not in (None, one.birth_date):
            view = self._tx.gymnasts.view(one.id, screens=_ALL_SCREENS)
            days = [size.taken_on for size in view.sizes]
            days += [screen.screen.screened_on for screen in view.screens]
            if days and born is not None and min(days) < born:
                faults.append(
                    (
                        "birth_date",
                        f"{born} cannot be: she was measured on {min(days)}; check the year",
                    )
                )
        return faults


def _impossible_sizes(values: RosterValues, sizes: Sequence[BodySize]) -> list[Fault]:
    day = _of_day(sizes, values.measured_on) or BodySize(date.min)
    sits = values.sitting_height_cm or day.sitting_height_cm
    stands = values.stature_cm or day.stature_cm
    if not values.sizes or sits is None or stands is None or sits < stands:
        return []
    column = "sitting_height_cm" if values.sitting_height_cm is not None else "stature_cm"
    sentence = (
        f"she cannot sit as tall ({write_number(sits)} cm) as she stands "
        f"({write_number(stands)} cm); check both"
    )
    return [(column, sentence)]


def _of_day(sizes: Sequence[BodySize], day: date | None) -> BodySize | None:
    return next((size for size in sizes if size.taken_on == day), None)


def _column_order(change: FieldChange) -> int:
    return COLUMNS.index(change.column)


def _fault_order(fault: Fault) -> int:
    return COLUMNS.index(fault[0]) if fault[0] in COLUMNS else -1


def _line(
    row: MatchedRow, cells: Mapping[str, str], changes: tuple[FieldChange, ...]
) -> RosterLine:
    faults = tuple(sorted(dict.fromkeys([*row.row.faults, *row.faults]), key=_fault_order))
    gymnast_id = None if row.gymnast is None else row.gymnast.id
    if faults:
        return RosterLine(row.line, cells, "bad", None, gymnast_id, (), faults, row.remark)
    effect: Effect = "new" if gymnast_id is None else "changes" if changes else "same"
    return RosterLine(row.line, cells, effect, row.row.values, gymnast_id, changes, (), row.remark)


def _text(value: object) -> str:
    """Return a value as an export writes it."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return write_number(value)
    return "" if value is None else str(value)
