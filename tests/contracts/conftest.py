"""The same records in SQLite and in PostgreSQL."""

import shutil
from collections.abc import Callable, Iterator
from itertools import count
from pathlib import Path

import pytest

from chordline.adapters.db.records import SqlRecords, open_records
from chordline.adapters.db.schema import METADATA
from private_postgres import binaries_or_skip, private_server, run_sql

_NUMBERS = count(1)
_SHARED = "club"


def _create(server: str, name: str) -> str:
    run_sql(f"{server}/postgres", f"CREATE DATABASE {name}")
    return f"{server}/{name}"


@pytest.fixture(scope="session")
def postgres_server() -> Iterator[str]:
    with private_server(binaries_or_skip()) as server:
        open_records(_create(server, _SHARED)).close()
        yield server


@pytest.fixture(scope="session")
def fresh_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Records without an entry, to be copied: upgrading takes longer than most tests."""
    path = tmp_path_factory.mktemp("records") / "fresh.db"
    open_records(f"sqlite:///{path}").close()
    return path


@pytest.fixture(params=["sqlite", "postgresql"])
def empty_address(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """A database without a table."""
    if request.param == "sqlite":
        return f"sqlite:///{tmp_path / 'club.db'}"
    return _create(request.getfixturevalue("postgres_server"), f"empty_{next(_NUMBERS)}")


@pytest.fixture(params=["sqlite", "postgresql"])
def address(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """Records without an entry."""
    if request.param == "sqlite":
        shutil.copy(request.getfixturevalue("fresh_file"), tmp_path / "club.db")
        return f"sqlite:///{tmp_path / 'club.db'}"
    shared = f"{request.getfixturevalue('postgres_server')}/{_SHARED}"
    tables = ", ".join(METADATA.tables)
    run_sql(shared, f"TRUNCATE {tables} RESTART IDENTITY CASCADE")
    return shared


@pytest.fixture
def open_again(address: str) -> Iterator[Callable[[], SqlRecords]]:
    """Open the same records once more, as another program would."""
    opened: list[SqlRecords] = []

    def open_them() -> SqlRecords:
        opened.append(open_records(address))
        return opened[-1]

    yield open_them
    for one in opened:
        one.close()


@pytest.fixture
def records(open_again: Callable[[], SqlRecords]) -> SqlRecords:
    return open_again()
