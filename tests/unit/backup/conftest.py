"""Clubs with backups."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from backup_stories import BackedUpClub, backed_up_club


@pytest.fixture
def club(tmp_path: Path) -> Iterator[BackedUpClub]:
    made = backed_up_club(tmp_path)
    yield made
    made.close()


@pytest.fixture(scope="module")
def untouched(tmp_path_factory: pytest.TempPathFactory) -> Iterator[BackedUpClub]:
    """A club with one backup that no test changes."""
    made = backed_up_club(tmp_path_factory.mktemp("untouched"))
    made.back_up()
    yield made
    made.close()
