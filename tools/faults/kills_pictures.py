"""Commands that move pictures, killed: taking in, backing up, sealing."""

import shutil
import sqlite3
from collections.abc import Iterable
from contextlib import closing
from dataclasses import replace
from datetime import UTC, date, datetime

from backup_stories import open_club
from chordline.application.backup.records import moment_of
from chordline.application.club.records import NewGymnast
from chordline.bootstrap import App
from club_stories import new_photo
from faults.kills_scene import Scene
from faults.kills_server import picture
from faults.wholeness import SIGN, Wholeness
from killed_writers import picture as random_picture
from vault_stories import PASSPHRASE, plant_plain

_DAY = date(2026, 11, 2)
#: So many of the latest backups stay whatever comes (see `generations`).
_STAY = 3
_NEVER = datetime.min.replace(tzinfo=UTC)


def take_ins(scene: Scene, kills: int) -> Iterable[list[str]]:
    """A folder of photos and a video: each file wholly or not; the same command goes on."""
    app = App(data=scene.data)
    club, whole = app.club(), Wholeness(scene.data)
    with app.records.transaction() as tx:
        tx.gymnasts.add(club.id, NewGymnast("Anna", card=11))
    photos, known = scene.folder / "photos", 0
    for number in range(-1, kills):
        photos.mkdir(exist_ok=True)
        for one in range(4):
            name = f"11_prone-overhead_{number}-{one}.jpg"
            (photos / name).write_bytes(picture(f"{number}-{one}"))
        command = ("take-in", str(photos), "--test", "prone-overhead", "--data", str(scene.data))
        if number < 0:
            scene.through(*command)
            code = 1
        else:
            code = scene.killed(*command)
        with closing(sqlite3.connect(scene.data / "records.sqlite")) as file:
            (there,) = file.execute("SELECT count(*) FROM photo").fetchone()
        found = whole.faults(app)
        if there < known:
            found.append(f"{known - there} photos are gone")
        if code in (0, 3) and number >= 0 and there < 4 * (number + 2):
            found.append("a command ended and not everything is in")
        known = there
        if number >= 0:
            yield found
    scene.through(*command)
    with closing(sqlite3.connect(scene.data / "records.sqlite")) as file:
        (there,) = file.execute("SELECT count(*) FROM photo").fetchone()
    app.records.close()
    if there != 4 * (kills + 1):
        yield [f"the same command took {there} of {4 * (kills + 1)} photos in"]


def backups(scene: Scene, kills: int) -> Iterable[list[str]]:
    """A backup is there wholly or not at all; of those before, only the fourth latest may go."""
    (scene.folder / "locked").touch()
    app = open_club(scene.data)
    club = app.club()
    with app.records.transaction() as tx:
        her = tx.gymnasts.add(club.id, NewGymnast("Anna"))
        key_id = app.photo_store.key_for(tx.keys, club.id, her.id)
        screen = tx.screens.on(her.id, _DAY)
    app.vault.set_passphrase(PASSPHRASE)
    stick = scene.folder / "stick"
    command = ("backup", str(stick), "--data", str(scene.data))
    known = set[str]()
    for number in range(-1, kills):
        for one in range(12 if number < 0 else 2):
            content = SIGN + random_picture(100 * number + one)
            key = app.photo_store.put(content, key_id)
            new = replace(new_photo(f"{number}-{one}", screen_id=screen.id), content_key=key)
            with app.records.transaction() as tx:
                tx.photos.file(club.id, new)
        code = scene.through(*command) if number < 0 else scene.killed(*command)
        there = {one.name for one in stick.glob("*") if moment_of(one.name) is not None}
        found = []
        latest = sorted(known | there, key=lambda name: moment_of(name) or _NEVER)[-_STAY:]
        if not there.issuperset(latest):
            found.append("a backup is gone")
        if code == 0 and there <= known:
            found.append("a backup that was made is not there")
        # Where an old one made room, what the others need has to be there still.
        for name in there if known - there else there - known:
            checked = app.check_backup(stick / name)
            if checked.damaged:
                found.append(f"{len(checked.damaged)} pictures of a backup are damaged")
        if any(SIGN in one.read_bytes() for one in stick.rglob("*") if one.is_file()):
            found.append("a backup holds a picture in plain")
        known = there
        if number >= 0:
            yield found
    code = scene.through(*command)
    left = [*stick.rglob("unfinished-*"), scene.data / "backup-work"]
    app.records.close()
    if code != 0 or any(one.exists() for one in left):
        yield [f"the backup after the kills ended with {code}: {scene.complaints()}"]


def sealings(scene: Scene, kills: int) -> Iterable[list[str]]:
    """Plain pictures of an earlier version are sealed; none is ever lost."""
    each = 12
    for number in range(kills):
        data = scene.folder / f"plain-{number}"
        app = App(data=data)
        contents = {}
        with app.records.transaction() as tx:
            club = tx.clubs.add("Turnverein")
            her = tx.gymnasts.add(club.id, NewGymnast("Ada"))
            screen = tx.screens.on(her.id, _DAY)
            for one in range(each):
                content = SIGN + random_picture(one)[:60_000]
                key = plant_plain(data / "photos", content)
                owner = screen.id if one % 2 else None
                new = replace(new_photo(str(one), screen_id=owner), content_key=key)
                contents[tx.photos.file(club.id, new).photo.id] = content
        scene.killed("vault", "seal", "--data", str(data))
        found = []
        for photo_id, content in contents.items():
            with app.records.reading() as tx:
                key = tx.photos.get(photo_id).content_key or ""
            if not key or app.photo_store.open(key) != content:
                found.append("a picture that was to be sealed is lost")
        if number % 5 == 0:
            code = scene.through("vault", "seal", "--data", str(data))
            if code != 0 or list((data / "photos").rglob("plain-*")):
                found.append("sealing again leaves something plain")
        app.records.close()
        shutil.rmtree(data)
        yield found
