"""Commands and writers that change records, killed: lists, transactions, upgrades, erasing."""

import hashlib
import shutil
import sqlite3
from collections.abc import Iterable
from contextlib import closing
from dataclasses import replace
from datetime import date

from chordline.adapters.db import migrate
from chordline.adapters.db.engine import make_engine
from chordline.adapters.db.records import open_records
from chordline.application.club.records import NewGymnast
from chordline.application.marks import HandMarks, Mark
from chordline.bootstrap import App
from club_stories import found_club, new_photo
from faults.kills_scene import Scene
from faults.opening import count_opening
from faults.wholeness import SIGN, Wholeness

_DAY = date(2026, 11, 2)
#: So long ago that all pictures have to go.
_ENDED = date(2025, 1, 1)


def roster_imports(scene: Scene, kills: int) -> Iterable[list[str]]:
    """A list of 300: all of it or nothing."""
    app = App(data=scene.data)
    app.club()
    whole = Wholeness(scene.data)
    for number in range(-1, kills):
        file = scene.folder / f"{number}.csv"
        file.write_text("name\n" + "".join(f"K{number} {row}\n" for row in range(300)))
        command = ("roster", "import", str(file), "--data", str(scene.data))
        code = scene.through(*command) if number < 0 else scene.killed(*command)
        with closing(sqlite3.connect(scene.data / "records.sqlite")) as records:
            asked = f"SELECT count(*) FROM gymnast WHERE name LIKE 'K{number} %'"
            (there,) = records.execute(asked).fetchone()
        found = whole.faults(app)
        if there not in ((300,) if code == 0 else (0, 300)):
            found.append(f"{there} of the 300 rows of a list are there")
        if number >= 0:
            yield found
    app.records.close()


def migrations(scene: Scene, kills: int) -> Iterable[list[str]]:
    """Records of the fourth revision are brought to the last one, or stay as they are."""
    old = scene.folder / "old.sqlite"
    engine = make_engine(f"sqlite:///{old}")
    migrate.upgrade(engine, "0004")
    engine.dispose()
    with closing(sqlite3.connect(old)) as file:
        file.execute("INSERT INTO club (name) VALUES ('Turnverein')")
        columns = {row[1] for row in file.execute("PRAGMA table_info(gymnast)")}
        values = {
            "club_id": 1, "name": "'Anna'", "name_key": "' anna'", "may_measure": 1,
            "may_keep_pictures": 1, "may_show_to_squad": 0, "version": 1,
            "created_at": "'2025-09-01 08:00:00'",
        }  # fmt: skip
        assert set(values) <= columns
        for number in range(2_000):
            values |= {"name": f"'Anna {number}'", "name_key": f"' anna {number}'"}
            told = ", ".join(map(str, values.values()))
            file.execute(f"INSERT INTO gymnast ({', '.join(values)}) VALUES ({told})")
        file.commit()
    for number in range(-1, kills):
        place = scene.folder / f"new-{number}.sqlite"
        shutil.copyfile(old, place)
        command = ("writer", "upgrade", f"sqlite:///{place}", "0")
        if number < 0:
            scene.through(*command)
            continue
        scene.killed(*command)
        found = []
        with closing(sqlite3.connect(place)) as file:
            if file.execute("PRAGMA integrity_check").fetchall() != [("ok",)]:
                found.append("the database is damaged")
            (revision,) = file.execute("SELECT version_num FROM alembic_version").fetchone()
        records = open_records(f"sqlite:///{place}")
        with records.transaction() as tx:
            (club,) = tx.clubs.all()
            if len(tx.gymnasts.named(club.id, "Anna 1999")) != 1:
                found.append(f"a gymnast is gone in an upgrade from {revision}")
            tx.gymnasts.add(club.id, NewGymnast("Bea"))
        records.close()
        for one in scene.folder.glob(f"{place.name}*"):
            one.unlink()
        yield found


def transactions(scene: Scene, kills: int) -> Iterable[list[str]]:
    """Photos filed, marked and measured in one transaction each: what was said is there, whole."""
    from contracts.test_records_killed import acknowledged_and_whole  # noqa: PLC0415

    address = f"sqlite:///{scene.folder / 'records.sqlite'}"
    records = open_records(address)
    club, _ = found_club(records, "Anna")
    with records.transaction() as tx:
        tx.clubs.add_group(club.id, "Young ones")
    acknowledged: set[str] = set()
    for number in range(kills):
        command = ("writer", "records", address, str(number * 10_000))
        if number == 0:
            # Something has to be there before a kill may come too early for anything.
            scene.killed_after_a_word(*command)
        else:
            scene.killed(*command)
        acknowledged |= set(scene.said())
        found = []
        try:
            acknowledged_and_whole(records, acknowledged)
        except AssertionError as error:
            found.append(f"a transaction is lost or in part: {str(error)[:200]}")
        yield found
    records.close()


def erasings(scene: Scene, kills: int) -> Iterable[list[str]]:
    """A gymnast is wholly there or wholly gone, and her pictures do not open without her."""
    app = App(data=scene.data)
    club, whole = app.club(), Wholeness(scene.data)
    for number in range(-1, kills):
        name = f"Ada {number}"
        with app.records.transaction() as tx:
            her = tx.gymnasts.add(club.id, NewGymnast(name))
            key_id = app.photo_store.key_for(tx.keys, club.id, her.id)
            screen = tx.screens.on(her.id, _DAY)
            keys = []
            for one in range(3):
                content = SIGN + f"{number} {one}".encode()
                keys.append(app.photo_store.put(content, key_id))
                new = new_photo(f"{number}-{one}", screen_id=screen.id, content_key=keys[-1])
                filed = tx.photos.file(
                    club.id, replace(new, sha256=hashlib.sha256(content).hexdigest())
                )
            marks = HandMarks("left", "down", {"hip": Mark(1.0, 1.0, 4.0, "hand")})
            tx.photos.save_marks(filed.photo.id, marks, base_version=0, author="Kim")
        receipt = scene.folder / f"{number}.pdf"
        command = (
            "erase", name, "--yes", name, "--receipt", str(receipt), "--data", str(scene.data)
        )  # fmt: skip
        code = scene.through(*command) if number < 0 else scene.killed(*command)
        found = whole.faults(app)
        with app.records.reading() as tx:
            there = bool(tx.gymnasts.named(club.id, name))
            key = tx.keys.get(key_id)
            noted = any(one.gymnast_number == her.id for one in tx.erased.all())
        if code == 0 and there:
            found.append("erasing ended and she is there")
        if there != (key is not None) or there == noted:
            found.append("she is erased in part")
        app.vault.forget_data_keys()
        opened = count_opening(app, keys)
        if opened != (3 if there else 0):
            found.append(f"{opened} of 3 pictures open; she is {'there' if there else 'erased'}")
        if number >= 0:
            yield found
    app.records.close()


def consents(scene: Scene, kills: int) -> Iterable[list[str]]:
    """Pictures that may not be kept go one by one; none is half gone."""
    app = App(data=scene.data)
    club, whole = app.club(), Wholeness(scene.data)
    for number in range(-1, kills):
        with app.records.transaction() as tx:
            her = tx.gymnasts.add(club.id, NewGymnast(f"Bea {number}"))
            key_id = app.photo_store.key_for(tx.keys, club.id, her.id)
            screen = tx.screens.on(her.id, _DAY)
            for one in range(6):
                content = SIGN + f"{number} {one}".encode()
                key = app.photo_store.put(content, key_id)
                new = new_photo(f"c{number}-{one}", screen_id=screen.id, content_key=key)
                filed = tx.photos.file(
                    club.id, replace(new, sha256=hashlib.sha256(content).hexdigest())
                ).photo
                tx.photos.settle(
                    filed.id, revision=filed.revision, state="refused", reason="r", worry=1.0
                )
            said = replace(her.consent, measure=True, until=_ENDED, said_on=_ENDED)
            tx.gymnasts.update(replace(her, consent=said))
        command = ("consent", "apply", "--data", str(scene.data))
        had_to_go = len(app.apply_consent().due(club.id, date.today()))
        code = scene.through(*command) if number < 0 else scene.killed(*command)
        found = whole.faults(app)
        due = app.apply_consent().due(club.id, date.today())
        if had_to_go < 6:
            found.append("nothing had to go, so this kill tells nothing")
        if code == 0 and due:
            found.append(f"{len(due)} pictures that have to go are there")
        if number >= 0:
            yield found
    code = scene.through("consent", "apply", "--data", str(scene.data))
    if code != 0 or app.apply_consent().due(club.id, date.today()):
        yield [f"applying consents after the kills ended with {code}: {scene.complaints()}"]
    app.records.close()
