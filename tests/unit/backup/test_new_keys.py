"""After somebody has left: other keys for everything; what she holds opens nothing new."""

import base64
import hashlib
import json
import shutil
from dataclasses import dataclass
from pathlib import Path

import pytest

from backup_stories import BackedUpClub, with_passphrase
from chordline.adapters.backup.restore import Wanted
from chordline.adapters.vault.club_key import ClubKeyFile
from chordline.adapters.vault.wrapping import derive, unwrap
from chordline.application.backup.records import Restored
from chordline.bootstrap import App
from chordline.bootstrap.backup import restore_backup
from chordline.errors import BackupError, WrongSecretError
from club_stories import new_photo
from vault_stories import PASSPHRASE

NEW = "nobody who left knows these words"


def renewed(
    club: BackedUpClub, name: str, to: Path, *, passphrase: str = NEW, **said: object
) -> Restored:
    wanted = Wanted(club.folder / name, to, new_keys=True, **said)
    return restore_backup(wanted, with_passphrase(), new_passphrase=lambda: passphrase)


@dataclass
class Leaver:
    """What somebody took along: the passphrase, and a copy of everything that opens."""

    club_key: bytes
    data_keys: dict[str, bytes]

    @classmethod
    def of(cls, app: App) -> "Leaver":
        file = ClubKeyFile.read((app.data_folder / "club.key").read_bytes())
        key = file.open_with_passphrase(PASSPHRASE)
        assert key is not None
        with app.records.reading() as tx:
            rows = tx.keys.all(app.club().id)
        return cls(key, {one.id: one.wrapped for one in rows})

    def opens_any_of(self, app: App) -> bool:
        """Whether her club key opens a key that the records hold now, or her keys name a file."""
        under = derive(self.club_key, "chordline data keys")
        with app.records.reading() as tx:
            rows = tx.keys.all(app.club().id)
        fit = any(unwrap(one.wrapped, under, name=f"chordline data key {one.id}") for one in rows)
        names = [path.name for path in (app.data_folder / "photos").glob("??/*")]
        assert names
        return fit or any(key_id in name for name in names for key_id in self.data_keys)


def contents_of(app: App) -> list[str]:
    """SHA-256 of every picture that the records name."""
    found = {}
    with app.records.reading() as tx:
        for key in tx.keys.content_keys(app.club().id):
            found[key] = hashlib.sha256(app.photo_store.open(key)).hexdigest()
    return sorted(found.values())


def test_every_picture_opens_with_the_new_passphrase_and_none_with_what_was_taken_along(
    club: BackedUpClub, tmp_path: Path
):
    before, leaver = contents_of(club.app), Leaver.of(club.app)
    made = club.back_up()
    done = renewed(club, made.name, tmp_path / "again")
    assert (done.pictures, done.damaged) == (4, ())
    again = App(data=tmp_path / "again")
    with pytest.raises(WrongSecretError):
        again.vault.unlock(PASSPHRASE)
    again.vault.unlock(NEW)
    assert contents_of(again) == before
    assert leaver.opens_any_of(club.app), "so this test can tell"
    assert not leaver.opens_any_of(again)
    again.records.close()


def test_the_recovery_sheet_of_before_opens_nothing(club: BackedUpClub, tmp_path: Path):
    from datetime import date  # noqa: PLC0415

    code = club.app.vault.new_recovery_code(day=date(2026, 11, 2))
    made = club.back_up()
    renewed(club, made.name, tmp_path / "again")
    again = App(data=tmp_path / "again")
    with pytest.raises(WrongSecretError):
        again.vault.unlock_with_code(code)
    again.records.close()


def test_the_passphrase_of_before_is_no_new_one(club: BackedUpClub, tmp_path: Path):
    made = club.back_up()
    with pytest.raises(WrongSecretError, match="who left may know"):
        renewed(club, made.name, tmp_path / "again", passphrase=PASSPHRASE)
    club.app.vault.set_passphrase("the words of last week")
    later = club.back_up()
    with pytest.raises(WrongSecretError, match="who left may know"):
        restore_backup(
            Wanted(club.folder / made.name, tmp_path / "again", new_keys=True),
            with_passphrase("the words of last week"),
            new_passphrase=lambda: "the words of last week",
        )
    assert later.name != made.name
    assert not (tmp_path / "again").exists()


def test_a_short_passphrase_changes_nothing(club: BackedUpClub, tmp_path: Path):
    made = club.back_up()
    with pytest.raises(WrongSecretError, match="at least 12"):
        renewed(club, made.name, tmp_path / "again", passphrase="short")
    assert not (tmp_path / "again").exists()
    assert not list(tmp_path.glob(".*restoring"))


def test_pictures_of_nobody_yet_are_renewed_too(club: BackedUpClub, tmp_path: Path):
    key = club.app.photo_store.put(b"whose is this")
    with club.app.records.transaction() as tx:
        tx.photos.file(club.app.club().id, new_photo("whose.jpg", content_key=key))
    leaver = Leaver.of(club.app)
    made = club.back_up()
    assert renewed(club, made.name, tmp_path / "again").pictures == 5
    again = App(data=tmp_path / "again")
    again.vault.unlock(NEW)
    assert hashlib.sha256(b"whose is this").hexdigest() in contents_of(again)
    assert not leaver.opens_any_of(again)
    again.records.close()


def test_who_was_erased_since_does_not_come_back(club: BackedUpClub, tmp_path: Path):
    made = club.back_up()
    with club.app.records.reading() as tx:
        (anna,) = tx.gymnasts.named(club.app.club().id, "Anna")
    club.app.keep_her().erase(anna.id, by="Kim")
    club.app.copies_to_replace()
    done = renewed(club, made.name, tmp_path / "again")
    assert (done.pictures, done.erased_again) == (2, 1)


def test_in_the_place_of_the_old_folder_nothing_of_it_is_trusted(
    club: BackedUpClub, tmp_path: Path
):
    made = club.back_up()
    data = club.app.data_folder
    (data / "tls").mkdir()
    (data / "tls" / "club.key").write_text("who has left has this")
    club.app.records.close()
    club.app.vault.lock()
    done = renewed(club, made.name, data, replace=True)
    assert done.aside
    assert (Path(done.aside) / "backup.json").exists()
    assert not (data / "backup.json").exists()
    assert not (data / "tls").exists()


def test_the_next_backup_needs_a_new_folder(club: BackedUpClub, tmp_path: Path):
    made = club.back_up()
    renewed(club, made.name, tmp_path / "again")
    again = App(data=tmp_path / "again")
    again.vault.unlock(NEW)
    with pytest.raises(BackupError, match="another club key"):
        again.make_backup().use_folder(str(club.folder))
    again.make_backup().use_folder(str(tmp_path / "other stick"))
    assert again.make_backup()().pictures == 4
    again.records.close()


def test_a_picture_that_does_not_open_stops_it_unless_it_is_said(
    club: BackedUpClub, tmp_path: Path
):
    """Its bytes are those that were backed up; what is in them was damaged before."""
    key = next(iter(club.pictures))
    path = next((club.app.data_folder / "photos").glob(f"??/{key}"))
    spoilt = bytearray(path.read_bytes())
    spoilt[-20] ^= 1
    path.write_bytes(spoilt)
    made = club.back_up()
    with pytest.raises(BackupError, match="do not open"):
        renewed(club, made.name, tmp_path / "again")
    assert not (tmp_path / "again").exists()
    done = renewed(club, made.name, tmp_path / "again", without_damaged=True)
    assert done.damaged == (key,)
    assert done.pictures == 3
    names = [one.name for one in (tmp_path / "again" / "photos").glob("??/*")]
    assert len(names) == 3
    assert key not in names


def test_the_command_asks_for_both_passphrases_and_says_what_to_destroy(
    club: BackedUpClub, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    from typer.testing import CliRunner  # noqa: PLC0415

    from chordline.cli.main import app  # noqa: PLC0415

    made = club.back_up()
    monkeypatch.setenv("CHORDLINE_PASSPHRASE", PASSPHRASE)
    said = CliRunner().invoke(
        app,
        ["restore", str(club.folder / made.name), "--to", str(tmp_path / "again"), "--new-keys"],
        input=f"{NEW}\n",
    )
    assert said.exit_code == 0, said.output
    assert "only the new passphrase opens it" in said.output
    assert str(club.folder) in said.output
    assert "destroy them" in said.output
    file = json.loads((tmp_path / "again" / "club.key").read_text())
    assert "bare" not in file
    assert base64.b64decode(file["passphrase"]["wrapped"])
    shutil.rmtree(tmp_path / "again")
