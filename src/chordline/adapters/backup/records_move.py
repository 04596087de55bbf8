"""Restored records move from their file into an empty database."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from chordline.adapters.backup.records_copy import rows_in
from chordline.adapters.backup.tables import copy_rows, numbers_given, say_numbers_given
from chordline.adapters.db.engine import for_reading, for_writing, make_engine
from chordline.adapters.db.migrate import upgrade
from chordline.adapters.db.refusals import sentences
from chordline.adapters.db.schema import CLUB, METADATA
from chordline.errors import BackupError


@contextmanager
def move_records(file: Path, database: str | None) -> Iterator[bool]:
    """Copy all rows into a database and commit when the block ends well; yield whether.

    Raises
    ------
    BackupError
        Where the database holds anything yet.
    """
    if database is None:
        yield False
        return
    source, target = make_engine(f"sqlite:///{file}"), make_engine(database)
    try:
        with sentences():
            upgrade(target)
        # Opening chordline once founds a club; that is nothing yet.
        if set(rows_in(target, METADATA)) - {CLUB.name}:
            raise BackupError(
                "the database that was named holds records; restore into an empty one. Nothing "
                "was changed"
            )
        with sentences(), for_writing(target).begin() as writing:
            writing.execute(CLUB.delete())
            with for_reading(source).begin() as reading:
                copy_rows(reading, writing, METADATA, stop=lambda: None)
                say_numbers_given(writing, numbers_given(reading, METADATA), METADATA)
            source.dispose()
            yield True
    finally:
        source.dispose()
        target.dispose()
