"""What is in a backup and what never is; what erasing leaves of one."""

import json
import shutil
import sqlite3
import zlib
from base64 import b64decode
from contextlib import closing
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from backup_stories import BackedUpClub, open_club
from chordline.adapters.backup.container import open_container
from chordline.adapters.backup.keys import reading_keys
from chordline.adapters.backup.ring_file import read_ring, write_ring
from chordline.adapters.vault.ring import export_ring
from chordline.adapters.vault.store import SealedPhotoStore
from chordline.application.backup.make_backup import RECORDS_PART
from chordline.application.backup.records import Keep
from chordline.errors import (
    PhotoStoreError,
)
from vault_stories import PASSPHRASE


def _backup_of(club: BackedUpClub) -> Path:
    return max(club.folder.glob("*.backup"))


def test_no_key_is_in_a_backup(untouched: BackedUpClub, tmp_path: Path):
    app, file = untouched.app, _backup_of(untouched)
    with app.records.reading() as tx:
        keys = [one.wrapped for one in tx.keys.all(app.club().id)]
    with closing(open_container(file, reading_keys(app.vault))) as opened:
        opened.part(RECORDS_PART, tmp_path / "copy.sqlite")
    copy = (tmp_path / "copy.sqlite").read_bytes()
    live = b"".join(one.read_bytes() for one in app.data_folder.glob("records.sqlite*"))
    assert len(keys) == 2
    assert all(key in live and key not in copy for key in keys)
    length = int.from_bytes(file.read_bytes()[18:22], "big")
    opening = json.loads(zlib.decompress(file.read_bytes()[22 : 22 + length]))
    assert "bare" not in json.loads(opening["club_key"])
    assert b"Anna" in copy
    assert b"Anna" not in file.read_bytes()


def test_whoever_is_erased_cannot_be_seen_in_any_backup(club: BackedUpClub, tmp_path: Path):
    made = club.back_up()
    shutil.copytree(club.folder / "pictures", tmp_path / "kept-aside")
    with club.app.records.reading() as tx:
        anna = tx.gymnasts.named(club.app.club().id, "Anna")[0]
    hers = {key for key, content in club.pictures.items() if b"Anna" in content}
    left_by_a_kill = tmp_path / "club" / "backup-work" / "whole.sqlite"
    left_by_a_kill.parent.mkdir()
    left_by_a_kill.touch()
    assert club.app.erase_her()(anna.id).copies == ()
    assert not left_by_a_kill.exists()
    there = {one.name for one in (club.folder / "pictures").glob("??/*")}
    assert there == club.pictures.keys() - hers
    done = club.restore(made.name, tmp_path / "again")
    assert (done.erased_again, done.pictures) == (1, 2)
    again = club.open_restored(tmp_path / "again")
    with again.records.reading() as tx:
        assert tx.gymnasts.named(again.club().id, "Anna") == ()
        assert [one.gymnast_number for one in tx.erased.all()] == [anna.id]
    again.records.close()
    # Even her old files, the old records, the ring and the open club key give nothing.
    ring = read_ring((club.folder / "ring").read_bytes(), club.app.vault)
    assert ring is not None
    wrapped = {one["id"]: b64decode(one["wrapped"]) for one in ring}
    store = SealedPhotoStore(
        tmp_path / "kept-aside", club.app.vault, wrapped=wrapped.get, unfiled=str
    )
    for key, content in club.pictures.items():
        if key in hers:
            with pytest.raises(PhotoStoreError):
                store.open(key)
        else:
            assert store.open(key) == content


def test_a_folder_that_was_away_is_named_and_its_ring_replaced_once_it_is_back(
    club: BackedUpClub, tmp_path: Path
):
    club.back_up()
    with club.app.records.reading() as tx:
        anna = tx.gymnasts.named(club.app.club().id, "Anna")[0]
        hers = tx.keys.of(anna.club_id, anna.id)
    club.folder.rename(tmp_path / "in-a-drawer")
    (told,) = club.app.erase_her()(anna.id).copies
    assert str(club.folder) in told
    assert any(one.what == "ring of keys" for one in club.app.examine_backups())
    assert hers.id.encode() in (tmp_path / "in-a-drawer" / "ring").read_bytes()
    (tmp_path / "in-a-drawer").rename(club.folder)
    assert club.app.replace_rings().again().due == ()
    assert hers.id.encode() not in (club.folder / "ring").read_bytes()
    assert not any(one.what == "ring of keys" for one in club.app.examine_backups())


def test_records_that_were_lost_do_not_cost_the_keys_of_a_backup(
    club: BackedUpClub, tmp_path: Path
):
    made = club.back_up()
    club.close()
    for one in club.app.data_folder.glob("records.sqlite*"):
        one.unlink()
    fresh = open_club(club.app.data_folder)
    fresh.vault.unlock(PASSPHRASE)
    fresh.make_backup()()
    fresh.records.close()
    assert club.restore(made.name, tmp_path / "again").pictures == 4


def test_a_backup_is_made_while_the_pictures_are_locked(club: BackedUpClub, tmp_path: Path):
    club.back_up()
    club.app.vault.lock()
    made = club.back_up()
    assert (made.pictures, made.ring_due) == (4, False)
    assert club.restore(made.name, tmp_path / "again").pictures == 4


def test_pictures_of_before_the_vault_lie_encrypted_in_the_file(club: BackedUpClub, tmp_path: Path):
    from club_stories import new_photo  # noqa: PLC0415
    from vault_stories import plant_plain  # noqa: PLC0415

    plain = plant_plain(club.app.data_folder / "photos", b"an old plain picture")
    with club.app.records.transaction() as tx:
        tx.photos.file(club.app.club().id, new_photo("old.jpg", content_key=plain))
    made = club.back_up()
    everything = b"".join(one.read_bytes() for one in club.folder.rglob("*") if one.is_file())
    assert b"an old plain picture" not in everything
    club.restore(made.name, tmp_path / "again")
    again = club.open_restored(tmp_path / "again")
    assert again.photo_store.open(plain) == b"an old plain picture"
    again.records.close()


def test_who_is_logged_in_is_in_no_backup(club: BackedUpClub, tmp_path: Path):
    club.close()
    now = datetime.now(UTC).isoformat()
    with closing(sqlite3.connect(tmp_path / "club" / "records.sqlite")) as connection:
        connection.execute(
            "INSERT INTO account VALUES (1, 1, 'Kim', 'kim', 'lead', 'hash', 0, NULL, ?)", (now,)
        )
        connection.execute(
            "INSERT INTO login VALUES (1, 1, ?, 'tablet', ?, ?, ?)", ("0" * 64, now, now, now)
        )
        connection.commit()
    made = club.back_up()
    club.restore(made.name, tmp_path / "again")
    with closing(sqlite3.connect(tmp_path / "again" / "records.sqlite")) as connection:
        assert connection.execute("SELECT count(*) FROM account").fetchone() == (1,)
        assert connection.execute("SELECT count(*) FROM login").fetchone() == (0,)


def test_records_that_are_replaced_still_tell_who_was_erased(club: BackedUpClub, tmp_path: Path):
    made = club.back_up()
    with club.app.records.reading() as tx:
        anna = tx.gymnasts.named(club.app.club().id, "Anna")[0]
    club.folder.rename(tmp_path / "in-a-drawer")
    club.app.erase_her()(anna.id)
    club.close()
    (tmp_path / "in-a-drawer").rename(club.folder)
    done = club.restore(made.name, tmp_path / "club", replace=True)
    assert (done.erased_again, done.pictures) == (1, 2)
    # Before she is in this folder's list: it waits for the next backup here.
    assert club.open_restored(tmp_path / "club").backup_settings.read().folders[0].ring_due_since


def test_pictures_that_no_kept_backup_needs_go_with_the_last_one(
    club: BackedUpClub, monkeypatch: pytest.MonkeyPatch
):
    club.app.backup_settings.change(lambda one: replace(one, keep=Keep(1, 0, 0)))
    gone = next(iter(club.pictures))
    for day in range(1, 6):
        then = datetime(2026, 11, day, 20, tzinfo=UTC)
        monkeypatch.setattr("chordline.bootstrap.backup._now", lambda then=then: then)
        club.back_up()
        if day == 1:
            with club.app.records.transaction() as tx:
                tx.photos.remove(1)
            club.app.photo_store.delete(gone)
        names = sorted(one.name for one in club.folder.glob("*.backup"))
        assert len(names) == min(day, 3)
        there = {one.name for one in (club.folder / "pictures").glob("??/*")}
        assert (gone in there) is (day <= 3)


def test_a_ring_put_together_here_is_the_vaults_own(untouched: BackedUpClub):
    app = untouched.app
    with app.records.reading() as tx:
        exported = export_ring(tx, app.club().id, app.vault)
    keys = read_ring(exported, app.vault)
    assert keys is not None
    assert write_ring(keys, app.vault) == exported
