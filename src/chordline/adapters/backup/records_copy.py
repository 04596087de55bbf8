"""Copies the records while others write, and looks whether a copy is whole."""

import sqlite3
from collections.abc import Callable, Iterator, Mapping
from contextlib import closing, contextmanager
from pathlib import Path

from sqlalchemy import Connection, Engine, MetaData, Table, select

from chordline.adapters.backup.tables import copy_rows, numbers_given, say_numbers_given
from chordline.adapters.db.account_schema import LOGIN, PAIRING
from chordline.adapters.db.content_holders import CONTENT_HOLDERS
from chordline.adapters.db.engine import for_reading, for_writing, make_engine
from chordline.adapters.db.migrate import upgrade
from chordline.adapters.db.refusals import sentences
from chordline.adapters.db.schema import METADATA
from chordline.adapters.db.vault_schema import VAULT_KEY
from chordline.application.backup.ports import RecordsCopied, Stop
from chordline.errors import BackupError, BackupStoppedError, RecordsError

#: What no copy holds: keys of pictures (the ring has them), and who is logged in.
LEFT_OUT: tuple[Table, ...] = (VAULT_KEY, PAIRING, LOGIN)
#: So many steps of SQLite's machine between two looks whether to stop: some milliseconds.
_STEPS = 100_000
#: How long the copy waits for a writer [s].
_WAITS_S = 10.0


class SqliteCopier:
    """Implements `CopyRecords` for records in a file.

    Notes
    -----
    ``VACUUM INTO`` reads within one transaction: it shows one moment, writers go on meanwhile, and
    unlike the step-by-step copy it does not begin anew whenever somebody writes. The first copy
    loses its keys and logins, and is then copied again: what was deleted stands in no page of the
    second.
    """

    def __init__(self, source: Path) -> None:
        self._source = source

    def size_bytes(self) -> int:
        """Return about how large the copy will be."""
        log = self._source.with_name(f"{self._source.name}-wal")
        return sum(one.stat().st_size for one in (self._source, log) if one.exists())

    def copy(self, workplace: Path, stop: Stop) -> RecordsCopied:
        """Return a copy in a folder."""
        whole = _free(workplace / "whole.sqlite")
        with _told(), closing(_connect(self._source, stop)) as connection:
            connection.execute("VACUUM INTO ?", (str(whole),))
        return _without_secrets(whole, workplace / "records.sqlite", stop)


class PostgresqlCopier:
    """Implements `CopyRecords` for records in PostgreSQL: all rows, in one read-only transaction.

    They go into an SQLite file of the same schema, from which records in either can be restored.
    """

    def __init__(self, address: str) -> None:
        self._address = address

    def size_bytes(self) -> int:
        """Return about how large the copy will be."""
        engine = make_engine(self._address)
        try:
            with sentences(), engine.connect() as connection:
                told = connection.exec_driver_sql("SELECT pg_database_size(current_database())")
                return int(told.scalar_one())
        finally:
            engine.dispose()

    def copy(self, workplace: Path, stop: Stop) -> RecordsCopied:
        """Return a copy in a folder."""
        whole = _free(workplace / "whole.sqlite")
        source, target = make_engine(self._address), make_engine(f"sqlite:///{whole}")
        try:
            with sentences():
                upgrade(target)
                with for_reading(source).begin() as reading, unwatched(target) as writing:
                    copy_rows(reading, writing, METADATA, leave_out=LEFT_OUT, stop=stop)
                    say_numbers_given(writing, numbers_given(reading, METADATA), METADATA)
        finally:
            source.dispose()
            target.dispose()
        return _without_secrets(whole, workplace / "records.sqlite", stop)


@contextmanager
def unwatched(engine: Engine) -> Iterator[Connection]:
    """Yield a writing connection in a transaction that does not watch owners row by row."""
    with for_writing(engine).connect() as connection:
        driver = connection.connection.dbapi_connection
        if engine.dialect.name == "sqlite":
            driver.execute("PRAGMA foreign_keys = OFF")  # type: ignore[union-attr]
        with connection.begin():
            yield connection


def check_copy(copy: Path) -> tuple[str, Mapping[str, int]]:
    """Return a copy's revision and how many rows its tables have.

    Raises
    ------
    BackupError
        Where SQLite finds it damaged, or rows have lost what they belong to.
    """
    with _told(), closing(_connect(copy, lambda: None, "mode=ro&immutable=1")) as connection:
        found = connection.execute("PRAGMA integrity_check(3)").fetchall()
        if found != [("ok",)]:
            raise BackupError(f"the copy of the records is damaged ({found[0][0]})")
        if connection.execute("PRAGMA foreign_key_check").fetchone() is not None:
            raise BackupError("the copy of the records has rows without their owner")
        return _told_of(connection)


def _told_of(connection: sqlite3.Connection) -> tuple[str, Mapping[str, int]]:
    names = [
        name
        for (name,) in connection.execute("SELECT name FROM sqlite_master WHERE type = 'table'")
        if not name.startswith("sqlite_")
    ]
    counts = {}
    for name in sorted(names):
        quoted = name.replace('"', '""')
        counts[name] = connection.execute(f'SELECT count(*) FROM "{quoted}"').fetchone()[0]
    if "alembic_version" not in counts:
        raise BackupError("the copy holds no records of chordline")
    revision = connection.execute("SELECT version_num FROM alembic_version").fetchone()
    return ("" if revision is None else str(revision[0])), counts


def _without_secrets(whole: Path, copy: Path, stop: Stop) -> RecordsCopied:
    _free(copy)
    with _told(), closing(_connect(whole, stop)) as connection:
        # Nothing of the keys may be left in a journal or a free page.
        connection.execute("PRAGMA journal_mode = MEMORY")
        connection.execute("PRAGMA secure_delete = ON")
        connection.execute("PRAGMA foreign_keys = OFF")
        connection.execute("BEGIN")
        for table in LEFT_OUT:
            connection.execute(f"DELETE FROM {table.name}")
        connection.execute("COMMIT")
        connection.execute("VACUUM INTO ?", (str(copy),))
        revision, counts = _told_of(connection)
        keys: list[str] = []
        for _, content in CONTENT_HOLDERS.values():
            query = f"SELECT {content.name} FROM {content.table.name}"
            keys += [key for (key,) in connection.execute(query) if key is not None]
    whole.unlink()
    return RecordsCopied(copy, revision, counts, tuple(sorted(set(keys))))


def _free(path: Path) -> Path:
    path.unlink(missing_ok=True)
    return path


def _connect(path: Path, stop: Stop, how: str = "mode=rw") -> sqlite3.Connection:
    address = f"{path.absolute().as_uri()}?{how}"
    connection = sqlite3.connect(
        address, timeout=_WAITS_S, isolation_level=None, uri=True, check_same_thread=False
    )
    connection.set_progress_handler(_Ticking(stop), _STEPS)
    return connection


class _Ticking:
    """Interrupts SQLite once somebody wants it to stop."""

    def __init__(self, stop: Callable[[], None]) -> None:
        self._stop = stop

    def __call__(self) -> int:
        try:
            self._stop()
        except BackupError:
            return 1
        return 0


@contextmanager
def _told() -> Iterator[None]:
    try:
        yield
    except sqlite3.OperationalError as error:
        if "interrupted" in str(error):
            raise BackupStoppedError from None
        raise RecordsError(f"the records cannot be copied now ({error})") from None
    except sqlite3.DatabaseError as error:
        raise BackupError(f"the copy of the records is damaged ({error})") from None


def rows_in(engine: Engine, metadata: MetaData) -> tuple[str, ...]:
    """Return the tables that have rows."""
    with sentences(), for_reading(engine).begin() as connection:
        return tuple(
            table.name
            for table in metadata.sorted_tables
            if connection.execute(select(1).select_from(table).limit(1)).first() is not None
        )
