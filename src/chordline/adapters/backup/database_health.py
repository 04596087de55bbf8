"""The database as `chordline doctor` tells of it."""

import sqlite3
from contextlib import closing
from pathlib import Path

from alembic.script import ScriptDirectory
from sqlalchemy import text
from sqlalchemy.exc import SQLAlchemyError

from chordline.adapters.db.engine import make_engine
from chordline.adapters.db.migrate import config
from chordline.application.health import Finding

_MEND = "stop using it, and restore a backup ('chordline restore')"


def examine_sqlite(file: Path) -> Finding:
    """Return whether a file of records is whole."""
    try:
        address = f"{file.absolute().as_uri()}?mode=ro"
        with closing(sqlite3.connect(address, uri=True, timeout=10)) as connection:
            found = connection.execute("PRAGMA quick_check(1)").fetchall()
            if found != [("ok",)]:
                return Finding("database", "broken", f"damaged ({found[0][0]}); {_MEND}")
            lost = connection.execute("PRAGMA foreign_key_check").fetchone()
            if lost is not None:
                told = f"rows of '{lost[0]}' have lost what they belong to; {_MEND}"
                return Finding("database", "broken", told)
            row = connection.execute("SELECT version_num FROM alembic_version").fetchone()
    except sqlite3.Error as error:
        return Finding("database", "broken", f"cannot be read ({error}); {_MEND}")
    return _tell_revision("" if row is None else str(row[0]), "whole")


def examine_postgresql(address: str) -> Finding:
    """Return whether records in PostgreSQL are reached and of this program's schema."""
    engine = make_engine(address)
    try:
        with engine.connect() as connection:
            query = text("SELECT version_num FROM alembic_version")
            return _tell_revision(str(connection.execute(query).scalar_one()), "reached")
    except SQLAlchemyError as error:
        return Finding("database", "broken", f"cannot be reached ({type(error).__name__})")
    finally:
        engine.dispose()


def _tell_revision(found: str, how: str) -> Finding:
    head = ScriptDirectory.from_config(config()).get_current_head()
    if found != head:
        told = f"is of revision {found or 'none'}, this program of {head}"
        return Finding("database", "broken", f"{told}; end every other chordline, start anew")
    return Finding("database", "well", f"{how}, revision {found}")
