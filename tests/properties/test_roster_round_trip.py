"""What goes out comes in as it was: export, then import, changes nothing."""

from collections.abc import Iterator, Mapping, Sequence
from datetime import date, timedelta
from itertools import combinations, count
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from chordline.adapters.db.records import SqlRecords, open_records
from chordline.adapters.tables.csv_table import CsvTableWriter
from chordline.adapters.tables.table_file import TableFileReader
from chordline.adapters.tables.xlsx_table import XlsxTableWriter
from chordline.application.club.names import name_key
from chordline.application.club.records import BodySize, Consent, NewGymnast
from chordline.application.roster.columns import COLUMNS
from chordline.application.roster.in_and_out import ExportRoster, ImportRoster
from chordline.application.roster.table import Cell, TableWriter
from roster_stories import TODAY

pytestmark = pytest.mark.slow

_NUMBERS = count(1)
WRITERS = (CsvTableWriter(), XlsxTableWriter())

# Few letters, so that names meet; the signs that make cells formulas, rows and groups.
_SIGNS = "aAéß 'z=+-@,;|\"\\1"
NAMES = st.text(st.sampled_from(_SIGNS), min_size=1, max_size=8).filter(name_key)
DAYS = st.dates(date(2001, 1, 1), date(2023, 1, 1))
CONSENTS = st.builds(
    Consent,
    st.booleans(),
    st.booleans(),
    st.booleans(),
    st.none() | st.dates(date(2020, 1, 1), date(2040, 1, 1)),
)
Girls = list[tuple[NewGymnast, list[BodySize], list[int]]]


def numbers(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high) | st.floats(low, high).map(lambda value: round(value, 1))


SIZES = st.builds(
    BodySize,
    st.dates(TODAY - timedelta(days=900), TODAY),
    st.none() | numbers(90.0, 230.0),
    numbers(5.0, 200.0),
    st.none() | numbers(25.0, 89.0),
)
GYMNASTS = st.lists(
    st.tuples(
        st.builds(
            NewGymnast,
            NAMES,
            st.none() | st.integers(0, 999),
            st.none() | DAYS,
            CONSENTS,
            st.sampled_from([None, "girls", "boys"]),
        ),
        st.lists(SIZES, max_size=2),
        st.lists(st.integers(0, 2), max_size=3),
    ),
    max_size=5,
    unique_by=lambda one: one[0].card if one[0].card is not None else object(),
)
GROUPS = st.lists(NAMES, min_size=3, max_size=3, unique_by=name_key)


@pytest.fixture(scope="module")
def records(tmp_path_factory: pytest.TempPathFactory) -> Iterator[SqlRecords]:
    path: Path = tmp_path_factory.mktemp("records") / "club.db"
    opened = open_records(f"sqlite:///{path}")
    yield opened
    opened.close()


def told_apart(new: Sequence[NewGymnast]) -> bool:
    def differ(one: NewGymnast, other: NewGymnast) -> bool:
        pairs = ((one.card, other.card), (one.birth_date, other.birth_date))
        return name_key(one.name) != name_key(other.name) or any(
            None not in pair and pair[0] != pair[1] for pair in pairs
        )

    return all(differ(*pair) for pair in combinations(new, 2))


def fill(
    records: SqlRecords,
    girls: Girls,
    groups: Sequence[str],
) -> int:
    with records.transaction() as tx:
        club = tx.clubs.add(f"Club {next(_NUMBERS)}")
        made = [tx.clubs.add_group(club.id, name) for name in groups]
        for new, sizes, inside in girls:
            one = tx.gymnasts.add(club.id, new)
            for size in sizes:
                tx.gymnasts.add_size(one.id, size)
            for at in inside:
                tx.clubs.put_in_group(made[at].id, [one.id])
    return club.id


@pytest.mark.parametrize("writer", WRITERS, ids=["csv", "xlsx"])
@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(girls=GYMNASTS, groups=GROUPS)
def test_importing_an_export_changes_nothing(
    records: SqlRecords,
    writer: TableWriter,
    girls: Girls,
    groups: list[str],
):
    club_id = fill(records, girls, groups)
    before = ExportRoster(records)(club_id)
    if not before:
        return
    table = TableFileReader().read(writer.write(COLUMNS, before))
    outcome = ImportRoster(records)(
        club_id, table, skip_bad=True, token=None, today=TODAY, author="Kim"
    )
    assert [
        line.effect for line in outcome.preview.lines if line.effect not in ("same", "bad")
    ] == []
    assert outcome.preview.new_groups == ()
    assert ExportRoster(records)(club_id) == before
    if told_apart([new for new, _, _ in girls]):
        assert [line.faults for line in outcome.left_out] == []


@pytest.mark.parametrize("writer", WRITERS, ids=["csv", "xlsx"])
@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(girls=GYMNASTS, groups=GROUPS)
def test_an_export_makes_the_same_roster_in_another_club(
    records: SqlRecords,
    writer: TableWriter,
    girls: Girls,
    groups: list[str],
):
    if not girls or not told_apart([new for new, _, _ in girls]):
        return
    rows = ExportRoster(records)(fill(records, girls, groups))
    other = fill(records, [], [])
    table = TableFileReader().read(writer.write(COLUMNS, rows))
    ImportRoster(records)(other, table, skip_bad=False, token=None, today=TODAY, author="Kim")

    def comparable(rows: Sequence[Mapping[str, Cell]]) -> list[str]:
        # A spreadsheet keeps fifteen digits of a number.
        def shown(cell: Cell) -> str:
            return f"{cell:.12g}" if isinstance(cell, float) else repr(cell)

        return sorted(str([shown(row[column]) for column in COLUMNS]) for row in rows)

    assert comparable(ExportRoster(records)(other)) == comparable(rows)
