"""The club's records in a file of the test's own."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from chordline.adapters.db.records import SqlRecords, open_records


@pytest.fixture
def records(tmp_path: Path) -> Iterator[SqlRecords]:
    opened = open_records(f"sqlite:///{tmp_path / 'club.db'}")
    yield opened
    opened.close()
