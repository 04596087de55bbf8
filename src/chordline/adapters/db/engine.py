"""Connections: what each database needs to lose nothing and to let many read while one writes."""

from contextlib import suppress
from pathlib import Path
from typing import Any

from pydantic_core import from_json
from sqlalchemy import Connection, Engine, create_engine, event, make_url
from sqlalchemy.engine import URL
from sqlalchemy.exc import ArgumentError

from chordline.errors import RecordsError, WrongUseError

#: How long a writer waits for another [s].
BUSY_TIMEOUT_S = 10.0

WRITES = "chordline_writes"


def make_engine(address: str) -> Engine:
    """Return an engine for ``sqlite:///FILE`` or ``postgresql://…``.

    Raises
    ------
    WrongUseError
        For any other address.
    """
    try:
        url = make_url(address)
    except ArgumentError:
        raise WrongUseError(
            "the records' address must look like sqlite:///club.db or postgresql://host/database"
        ) from None
    match url.get_backend_name():
        case "sqlite":
            return _sqlite(url)
        case "postgresql":
            return _postgresql(url.set(drivername="postgresql+psycopg"))
        case other:
            raise WrongUseError(f"records are kept in sqlite or postgresql, not in {other}")


def _sqlite(url: URL) -> Engine:
    if not url.database or url.database == ":memory:":
        raise WrongUseError("the records need a file: sqlite:///club.db")
    folder = Path(url.database).parent
    try:
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    except OSError as error:
        raise RecordsError(f"{folder} cannot be used for the records ({error.strerror})") from None
    engine = create_engine(
        url,
        json_deserializer=from_json,
        # What goes wrong is written to logs; names and notes do not belong there.
        hide_parameters=True,
        connect_args={"timeout": BUSY_TIMEOUT_S, "check_same_thread": False},
    )
    event.listen(engine, "connect", _prepare_sqlite)
    event.listen(engine, "begin", _begin_sqlite)
    return engine


def _prepare_sqlite(connection: Any, _record: object) -> None:
    # The driver must not begin transactions by itself: it would begin them as readers, and a
    # reader that turns into a writer is refused where another has written meanwhile.
    connection.isolation_level = None
    cursor = connection.cursor()
    _keep_to_owner(Path(cursor.execute("PRAGMA database_list").fetchone()[2]))
    cursor.execute("PRAGMA journal_mode = WAL")
    # FULL: in WAL mode anything less may lose the last commits when the power fails.
    cursor.execute("PRAGMA synchronous = FULL")
    cursor.execute("PRAGMA foreign_keys = ON")
    # What is erased is overwritten, not only forgotten.
    cursor.execute("PRAGMA secure_delete = ON")
    cursor.close()


def _keep_to_owner(file: Path) -> None:
    """Let nobody else read new records, also in a folder that others may look into.

    SQLite gives its log the rights of the file. Records that are there already keep theirs: whoever
    gave them others may have had a reason.
    """
    with suppress(OSError):
        if file.stat().st_size == 0:
            file.chmod(0o600)


def _begin_sqlite(connection: Connection) -> None:
    writes = connection.get_execution_options().get(WRITES, False)
    connection.exec_driver_sql(f"PRAGMA query_only = {'OFF' if writes else 'ON'}")
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


def _postgresql(url: URL) -> Engine:
    try:
        engine = create_engine(
            url, pool_pre_ping=True, json_deserializer=from_json, hide_parameters=True
        )
    except ModuleNotFoundError:
        raise RecordsError(
            "PostgreSQL needs its driver: pip install 'chordline[postgres]'"
        ) from None
    event.listen(engine, "connect", _prepare_postgresql)
    return engine


def _prepare_postgresql(connection: Any, _record: object) -> None:
    with connection.cursor() as cursor:
        cursor.execute(f"SET lock_timeout = {int(BUSY_TIMEOUT_S * 1000)}")
    connection.commit()


def for_writing(engine: Engine) -> Engine:
    """Return the engine whose transactions write."""
    return engine.execution_options(**{WRITES: True})


def for_reading(engine: Engine) -> Engine:
    """Return the engine whose transactions see one state and write nothing."""
    if engine.dialect.name == "sqlite":
        return engine
    return engine.execution_options(isolation_level="REPEATABLE READ", postgresql_readonly=True)
