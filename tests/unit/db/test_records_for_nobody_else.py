"""What others on the machine, and readers of a log, learn of the records: nothing."""

import os
from pathlib import Path

import pytest
from sqlalchemy.exc import DBAPIError

from chordline.adapters.db.engine import for_writing, make_engine


@pytest.mark.skipif(os.name == "nt", reason="rights are told otherwise there")
def test_new_records_are_readable_by_their_owner_alone(tmp_path: Path) -> None:
    before = os.umask(0o022)
    try:
        engine = make_engine(f"sqlite:///{tmp_path / 'club.db'}")
        with for_writing(engine).begin() as connection:
            connection.exec_driver_sql("CREATE TABLE names (name TEXT)")
            rights = {file.name: file.stat().st_mode & 0o077 for file in tmp_path.iterdir()}
        engine.dispose()
    finally:
        os.umask(before)
    assert rights
    assert set(rights.values()) == {0}


def test_a_fault_of_the_database_names_nobody(tmp_path: Path) -> None:
    engine = make_engine(f"sqlite:///{tmp_path / 'club.db'}")
    with pytest.raises(DBAPIError) as told, for_writing(engine).begin() as connection:
        connection.exec_driver_sql("INSERT INTO nowhere VALUES (?)", ("Juna Falkenried",))
    engine.dispose()
    assert "Juna" not in str(told.value)
