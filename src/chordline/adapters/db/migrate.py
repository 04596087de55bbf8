"""Brings a database to this program's schema when it is opened."""

from functools import cache
from pathlib import Path
from threading import Lock

from alembic import command
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Connection, Engine, text

from chordline.adapters.db.engine import for_writing
from chordline.errors import NewerRecordsError, RecordsError

_FOLDER = Path(__file__).parent / "migrations"

#: Any number, the same in every chordline: two that start at once upgrade one after the other.
_UPGRADE_LOCK = 4_306_211


#: Alembic keeps what it works on in a module, once a process.
_ALEMBIC = Lock()


def config(connection: Connection | None = None) -> Config:
    """Return Alembic's settings; they need no file."""
    made = Config()
    made.set_main_option("script_location", str(_FOLDER).replace("%", "%%"))
    made.attributes["connection"] = connection
    return made


def upgrade(engine: Engine, revision: str = "head") -> None:
    """Bring the schema to a revision, wholly or not at all.

    Raises
    ------
    NewerRecordsError
        Where the database has a revision that this program does not know.
    RecordsError
        Where rows would be left without what they belong to.
    """
    with engine.connect() as connection:
        if _found(connection) == _newest():
            return
    script = ScriptDirectory.from_config(config())
    sqlite = engine.dialect.name == "sqlite"
    with for_writing(engine).connect() as connection:
        if sqlite:
            # A table is changed by copying it; while keys are watched, dropping the old one would
            # take everything along that belongs to its rows. Cannot be set inside a transaction.
            driver = connection.connection.dbapi_connection
            driver.execute("PRAGMA foreign_keys = OFF")  # type: ignore[union-attr]
        try:
            with connection.begin():
                if not sqlite:
                    connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock({_UPGRADE_LOCK})")
                _refuse_newer(_found(connection), script)
                numbers = _numbers_given(connection) if sqlite else {}
                with _ALEMBIC:
                    command.upgrade(config(connection), revision)
                _keep_numbers(connection, numbers)
                if sqlite and connection.exec_driver_sql("PRAGMA foreign_key_check").first():
                    raise RecordsError("upgrading would leave records without their owner")
        finally:
            if sqlite:
                driver.execute("PRAGMA foreign_keys = ON")  # type: ignore[union-attr]


@cache
def _newest() -> str | None:
    """Return this program's own revision: reading all steps takes longer than opening a file."""
    return ScriptDirectory.from_config(config()).get_current_head()


def _found(connection: Connection) -> str | None:
    return MigrationContext.configure(connection).get_current_revision()


def _refuse_newer(found: str | None, script: ScriptDirectory) -> None:
    known = {one.revision for one in script.walk_revisions()}
    if found is not None and found not in known:
        raise NewerRecordsError(found)


def _numbers_given(connection: Connection) -> dict[str, int]:
    """Return the highest id that each table of an SQLite database ever gave."""
    there = "SELECT 1 FROM sqlite_master WHERE name = 'sqlite_sequence'"
    if connection.exec_driver_sql(there).first() is None:
        return {}
    rows = connection.exec_driver_sql("SELECT name, seq FROM sqlite_sequence")
    return {row.name: row.seq for row in rows}


def _keep_numbers(connection: Connection, numbers: dict[str, int]) -> None:
    # A table that was copied knows only the ids that are left in it.
    for table, highest in numbers.items():
        for verb in (
            "UPDATE sqlite_sequence SET seq = max(seq, :highest) WHERE name = :table",
            "INSERT INTO sqlite_sequence (name, seq) SELECT :table, :highest WHERE NOT EXISTS "
            "(SELECT 1 FROM sqlite_sequence WHERE name = :table)",
        ):
            connection.execute(text(verb), {"table": table, "highest": highest})
