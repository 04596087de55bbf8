"""From nothing, and from the first revision with data, to this program's tables."""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from sqlalchemy import CheckConstraint, inspect, text

from chordline.adapters.db import migrate
from chordline.adapters.db.engine import for_writing, make_engine
from chordline.adapters.db.migrations.versions.r0001_first_tables import TABLES
from chordline.adapters.db.records import open_records
from chordline.adapters.db.rows import marks_values
from chordline.adapters.db.schema import METADATA
from chordline.application.club.records import NewGymnast
from chordline.errors import NewerRecordsError, RecordsError, WrongUseError
from club_stories import marks_at, new_photo

THEN = datetime(2025, 9, 1, 8, tzinfo=UTC)


def test_the_migrations_lead_to_exactly_the_tables_of_the_schema(empty_address: str):
    open_records(empty_address).close()
    engine = make_engine(empty_address)
    with engine.connect() as connection:
        assert compare_metadata(MigrationContext.configure(connection), METADATA) == []
        found = inspect(connection)
        for table in METADATA.sorted_tables:
            checks = {one["name"] for one in found.get_check_constraints(table.name)}
            wanted = {one.name for one in table.constraints if isinstance(one, CheckConstraint)}
            assert checks == wanted, table.name
            indexes = {one["name"] for one in found.get_indexes(table.name)}
            assert {one.name for one in table.indexes} <= indexes, table.name
            keys = {
                (one["name"], one["options"].get("ondelete"))
                for one in found.get_foreign_keys(table.name)
            }
            owners = {(one.name, one.ondelete) for one in table.foreign_key_constraints}
            assert keys == owners, table.name
    engine.dispose()


def test_records_of_the_first_revision_are_taken_along(empty_address: str):
    engine = make_engine(empty_address)
    migrate.upgrade(engine, "0001")
    _fill_as_of_0001(engine)
    engine.dispose()
    records = open_records(empty_address)
    try:
        with records.transaction() as tx:
            club = tx.clubs.all()[0]
            anna = tx.gymnasts.named(club.id, "Anna")[0]
            assert anna.growth_reference is None
            told = tx.gymnasts.update(replace(anna, growth_reference="girls"))
            assert told.growth_reference == "girls"
            (screen,) = tx.gymnasts.view(anna.id).screens
            by_name = {view.photo.name: view for view in screen.photos}
            assert set(by_name) == {"good.jpg", "doubtful.jpg", "refused.jpg"}
            good = by_name["good.jpg"]
            assert good.marks is not None
            assert good.marks.marks == marks_at(500)
            assert good.measurement is not None
            assert good.measurement.record == {"number": 1}
            assert good.photo.worry is None
            queue = [row.photo.name for row in tx.photos.queue(club.id).rows]
            assert queue == ["refused.jpg", "doubtful.jpg"]
            # Photo 9 was erased before the upgrade; its number does not come back.
            assert tx.photos.file(club.id, new_photo("new.jpg")).photo.id >= 10
            tx.jobs.add(club.id, "measure", photo_id=good.photo.id)
            tx.gymnasts.add(club.id, NewGymnast("Bea"))
    finally:
        records.close()


def _fill_as_of_0001(engine) -> None:
    table = TABLES.tables
    digests = {name: new_photo(name).sha256 for name in ("good", "doubtful", "refused", "erased")}
    states = {"good": "measured", "doubtful": "needs_look", "refused": "refused"}
    with for_writing(engine).begin() as connection:

        def add(name: str, /, **values: object) -> None:
            connection.execute(table[name].insert().values(**values))

        add("club", name="Turnverein")
        add(
            "gymnast",
            club_id=1,
            name="Anna",
            name_key=" anna",
            may_measure=True,
            may_keep_pictures=True,
            may_show_to_squad=False,
            version=1,
            created_at=THEN,
        )
        add("screen", gymnast_id=1, screened_on=date(2025, 9, 1), revision=3)
        for name, digest in digests.items():
            state = states.get(name, "waiting")
            add(
                "photo",
                club_id=1,
                screen_id=1,
                name=f"{name}.jpg",
                sha256=digest,
                size_bytes=1,
                state=state,
                reason="why" if state in {"needs_look", "refused"} else None,
                revision=1,
                marks_version=1 if name == "good" else 0,
                received_at=THEN,
            )
        add(
            "marks",
            photo_id=1,
            version=1,
            base_version=0,
            author="Kim",
            made_at=THEN,
            set_aside=False,
            **marks_values(marks_at(500)),
        )
        add(
            "measurement",
            photo_id=1,
            photo_revision=1,
            marks_version=1,
            record={"number": 1},
            model="hand marks",
            catalogue="c1",
            measured_at=THEN,
        )
        photo = table["photo"]
        erased = photo.c.name == "erased.jpg"
        connection.execute(photo.update().where(erased).values(id=9))
        if engine.dialect.name == "sqlite":
            connection.execute(text("UPDATE sqlite_sequence SET seq = 9 WHERE name = 'photo'"))
        else:
            connection.execute(text("SELECT setval(pg_get_serial_sequence('photo', 'id'), 9)"))
        connection.execute(photo.delete().where(erased))


def test_records_of_a_newer_program_are_left_alone(empty_address: str):
    open_records(empty_address).close()
    engine = make_engine(empty_address)
    with for_writing(engine).begin() as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = '9999'"))
    with pytest.raises(NewerRecordsError) as refused:
        open_records(empty_address)
    assert refused.value.revision == "9999"
    with engine.connect() as connection:
        found = connection.execute(text("SELECT version_num FROM alembic_version")).scalar_one()
    engine.dispose()
    assert found == "9999"


def test_two_programs_that_start_at_once_upgrade_once(empty_address: str):
    with ThreadPoolExecutor(3) as pool:
        for records in pool.map(open_records, [empty_address] * 3):
            with records.reading() as tx:
                assert tx.clubs.all() == ()
            records.close()


@pytest.mark.parametrize(
    "address", ["", "club.db", "mysql://x/y", "sqlite://", "sqlite:///:memory:"]
)
def test_an_address_that_cannot_hold_records_is_told(address: str):
    with pytest.raises(WrongUseError):
        open_records(address)


def test_a_file_that_holds_no_records_is_told_and_left_alone(tmp_path: Path):
    file = tmp_path / "letter.txt"
    file.write_text("Dear parents, " * 1000)
    with pytest.raises(RecordsError):
        open_records(f"sqlite:///{file}")
    assert file.read_text() == "Dear parents, " * 1000


def test_a_server_that_does_not_answer_is_told():
    with pytest.raises(RecordsError):
        open_records("postgresql://nobody@127.0.0.1:1/club")
