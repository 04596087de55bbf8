"""Rows of all tables from one database to another, with the numbers that were ever given."""

from collections.abc import Iterable, Mapping

from sqlalchemy import Connection, MetaData, Table, func, insert, select, text

from chordline.application.backup.ports import Stop

_AT_ONCE = 500


def copy_rows(
    source: Connection,
    target: Connection,
    metadata: MetaData,
    *,
    stop: Stop,
    leave_out: Iterable[Table] = (),
) -> None:
    """Copy every row; owners come before what is theirs.

    Parameters
    ----------
    source, target : Connection
        In transactions; of the same schema, `target` without rows.
    metadata : MetaData
        The schema.
    stop : callable
        Raises once it should end.
    leave_out : iterable of Table, optional
        What is not copied.
    """
    left_out = set(leave_out)
    for table in metadata.sorted_tables:
        if table in left_out:
            continue
        found = source.execute(select(table), execution_options={"yield_per": _AT_ONCE})
        for rows in found.mappings().partitions(_AT_ONCE):
            stop()
            target.execute(insert(table), [dict(row) for row in rows])


def _numbered(metadata: MetaData) -> list[Table]:
    return [
        table
        for table in metadata.sorted_tables
        if table.dialect_options["sqlite"].get("autoincrement")
    ]


def numbers_given(connection: Connection, metadata: MetaData) -> dict[str, int]:
    """Return the highest number that each table ever gave: they are never given twice."""
    if connection.dialect.name == "sqlite":
        rows = connection.exec_driver_sql("SELECT name, seq FROM sqlite_sequence")
        return {row.name: row.seq for row in rows}
    given = {}
    for table in _numbered(metadata):
        sequence = connection.execute(
            select(func.pg_get_serial_sequence(table.name, "id"))
        ).scalar()
        if sequence is not None:
            row = connection.exec_driver_sql(f"SELECT last_value, is_called FROM {sequence}").one()
            given[table.name] = int(row.last_value) if row.is_called else 0
    return given


def say_numbers_given(connection: Connection, given: Mapping[str, int], metadata: MetaData) -> None:
    """Let each table begin behind the highest number it ever gave."""
    for table in _numbered(metadata):
        there = connection.execute(select(func.coalesce(func.max(table.c.id), 0))).scalar_one()
        highest = max(int(there), given.get(table.name, 0))
        if highest <= 0:
            continue
        values = {"table": table.name, "highest": highest}
        if connection.dialect.name == "sqlite":
            connection.execute(text("DELETE FROM sqlite_sequence WHERE name = :table"), values)
            connection.execute(
                text("INSERT INTO sqlite_sequence (name, seq) VALUES (:table, :highest)"), values
            )
        else:
            connection.execute(
                text("SELECT setval(pg_get_serial_sequence(:table, 'id'), :highest)"), values
            )
