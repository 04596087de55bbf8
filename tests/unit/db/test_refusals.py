import sqlite3

import pytest
from sqlalchemy.exc import IntegrityError, OperationalError, ProgrammingError, TimeoutError

from chordline.adapters.db.refusals import _SENTENCES, sentences, translated
from chordline.adapters.db.schema import METADATA
from chordline.errors import ImpossibleRecordError, RecordsBusyError, RecordsError


def operational(text: str) -> OperationalError:
    return OperationalError("SELECT", {}, sqlite3.OperationalError(text))


def test_a_busy_database_asks_to_try_again():
    assert isinstance(translated(operational("database is locked")), RecordsBusyError)


@pytest.mark.parametrize(
    "text",
    [
        "database or disk is full",
        "attempt to write a readonly database",
        "unable to open database file",
        "disk I/O error",
        "database disk image is malformed",
        "connection refused",
    ],
)
def test_trouble_of_the_world_is_told_with_its_reason(text: str):
    meant = translated(operational(text))
    assert type(meant) is RecordsError
    assert text in str(meant)


def test_a_fault_of_the_program_stays_one():
    bug = ProgrammingError("SELECT", {}, sqlite3.ProgrammingError("no such column: x"))
    assert translated(bug) is None
    with pytest.raises(ProgrammingError), sentences():
        raise bug


def test_a_broken_rule_is_named():
    error = sqlite3.IntegrityError("CHECK constraint failed: ck_hold_seconds")
    meant = translated(IntegrityError("INSERT", {}, error))
    assert isinstance(meant, ImpossibleRecordError)
    assert meant.rule == "ck_hold_seconds"
    assert "hold" in str(meant)


def test_every_sentence_belongs_to_a_rule_of_the_schema():
    rules = {one.name for table in METADATA.sorted_tables for one in table.constraints}
    rules |= {one.name for table in METADATA.sorted_tables for one in table.indexes}
    assert set(_SENTENCES) <= rules


def test_no_free_connection_asks_to_try_again():
    with pytest.raises(RecordsBusyError), sentences():
        raise TimeoutError("QueuePool limit of size 5 overflow 10 reached")
