"""What is refused, and that nothing is changed then."""

import json
import os
import shutil
import zlib
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from backup_stories import DAY, BackedUpClub, backed_up_club, open_club, with_passphrase
from chordline.adapters.backup.folder import BackupFolder
from chordline.adapters.backup.restore import Wanted
from chordline.bootstrap.backup import restore_backup
from chordline.errors import (
    BackupError,
    BackupStoppedError,
    WrongSecretError,
)


def _backup_of(club: BackedUpClub) -> Path:
    return max(club.folder.glob("*.backup"))


def test_a_club_that_nothing_opens_gets_no_backup(tmp_path: Path):
    club = BackedUpClub(open_club(tmp_path / "club"), tmp_path / "stick")
    club.add("Anna")
    club.app.make_backup().use_folder(str(club.folder))
    with pytest.raises(BackupError, match=r"passphrase.*recovery sheet"):
        club.back_up()
    assert list(club.folder.glob("*.backup")) == []
    club.close()


def test_a_club_without_passphrase_is_restored_with_the_recovery_code(tmp_path: Path):
    club = BackedUpClub(open_club(tmp_path / "club"), tmp_path / "stick")
    club.add("Anna")
    club.app.make_backup().use_folder(str(club.folder))
    code = club.app.vault.new_recovery_code(day=DAY)
    made = club.back_up()
    wanted = Wanted(club.folder / made.name, tmp_path / "again")
    with pytest.raises(WrongSecretError):
        restore_backup(wanted, with_passphrase())
    done = restore_backup(wanted, lambda vault: vault.unlock_with_code(code))
    assert done.pictures == 2
    again = open_club(tmp_path / "again")
    assert again.vault.state == "by_file"
    assert {key: again.photo_store.open(key) for key in club.pictures} == club.pictures
    again.records.close()
    club.close()


def test_another_passphrase_opens_nothing(untouched: BackedUpClub, tmp_path: Path):
    with pytest.raises(WrongSecretError):
        restore_backup(
            Wanted(_backup_of(untouched), tmp_path / "again"),
            with_passphrase("not the right words"),
        )
    assert list(tmp_path.iterdir()) == []


def test_the_passphrase_of_today_opens_a_backup_of_before_it_was_changed(
    club: BackedUpClub, tmp_path: Path
):
    old = club.back_up()
    club.app.vault.set_passphrase("quite another sentence")
    club.back_up()
    wanted = Wanted(club.folder / old.name, tmp_path / "again")
    assert restore_backup(wanted, with_passphrase("quite another sentence")).pictures == 4


@pytest.mark.parametrize("where", [0, 25, 200, -2000, -20])
def test_a_changed_byte_is_told(untouched: BackedUpClub, tmp_path: Path, where: int):
    folder = tmp_path / "stick"
    shutil.copytree(untouched.folder, folder)
    file = folder / _backup_of(untouched).name
    content = bytearray(file.read_bytes())
    content[where] ^= 1
    file.write_bytes(content)
    with pytest.raises(BackupError, match=r"damaged|no backup"):
        restore_backup(Wanted(file, tmp_path / "again"), with_passphrase())
    with pytest.raises(BackupError, match=r"damaged|no backup"):
        untouched.app.check_backup(file)
    assert not (tmp_path / "again").exists()


@pytest.mark.parametrize("share", [0.0, 0.3, 0.9, 0.9999])
def test_a_cut_file_is_told(untouched: BackedUpClub, tmp_path: Path, share: float):
    folder = tmp_path / "stick"
    shutil.copytree(untouched.folder, folder)
    file = folder / _backup_of(untouched).name
    content = file.read_bytes()
    file.write_bytes(content[: int(len(content) * share)])
    with pytest.raises(BackupError, match=r"damaged|no backup"):
        restore_backup(Wanted(file, tmp_path / "again"), with_passphrase())


def test_the_opening_of_one_backup_fits_no_other(club: BackedUpClub, tmp_path: Path):
    first, second = club.back_up(), None
    club.app.data_folder.joinpath("x").touch()
    os.rename(club.folder / first.name, club.folder / "chordline-2026-01-01T000000Z.backup")
    second = club.back_up()
    one = (club.folder / "chordline-2026-01-01T000000Z.backup").read_bytes()
    other = (club.folder / second.name).read_bytes()
    ends = [22 + int.from_bytes(each[18:22], "big") for each in (one, other)]
    mixed = club.folder / "chordline-2026-01-02T000000Z.backup"
    mixed.write_bytes(one[: ends[0]] + other[ends[1] :])
    with pytest.raises(BackupError, match="damaged"):
        restore_backup(Wanted(mixed, tmp_path / "again"), with_passphrase())


def test_a_list_that_names_a_path_is_refused(untouched: BackedUpClub, tmp_path: Path):
    content = _backup_of(untouched).read_bytes()
    length = int.from_bytes(content[18:22], "big")
    opening = json.loads(zlib.decompress(content[22 : 22 + length]))
    opening["pictures"] = [["../../club.key", 1, "0" * 64]]
    text = zlib.compress(json.dumps(opening).encode())
    file = tmp_path / _backup_of(untouched).name
    file.write_bytes(content[:18] + len(text).to_bytes(4, "big") + text + content[22 + length :])
    with pytest.raises(BackupError, match="damaged"):
        restore_backup(Wanted(file, tmp_path / "again"), with_passphrase())


def test_a_picture_taken_out_while_backing_up_is_noted_and_no_error(club: BackedUpClub):
    gone = next(iter(club.pictures))
    club.app.photo_store.delete(gone)
    made = club.back_up()
    assert (made.manifest.missing, made.lost, made.pictures) == ((gone,), (gone,), 3)


def test_damaged_pictures_are_refused_unless_said_otherwise(club: BackedUpClub, tmp_path: Path):
    made = club.back_up()
    one = next((club.folder / "pictures").glob("??/*"))
    one.write_bytes(one.read_bytes()[:-1] + b"x")
    assert club.app.check_backup(club.folder / made.name).damaged == (one.name,)
    with pytest.raises(BackupError, match="1 of 4 pictures"):
        club.restore(made.name, tmp_path / "again")
    done = club.restore(made.name, tmp_path / "again", without_damaged=True)
    assert (done.pictures, done.damaged) == (3, (one.name,))
    # What the check found is copied anew by the next backup.
    assert club.back_up().copied == 1
    assert club.app.check_backup(club.folder / made.name).damaged == ()


def test_nothing_is_written_over_and_the_folder_before_is_moved_aside(
    club: BackedUpClub, tmp_path: Path
):
    made = club.back_up()
    with pytest.raises(BackupError, match="not empty"):
        club.restore(made.name, tmp_path / "club")
    with pytest.raises(BackupError, match="chordline is open"):
        club.restore(made.name, tmp_path / "club", replace=True)
    club.close()
    done = club.restore(made.name, tmp_path / "club", replace=True)
    assert Path(done.aside).joinpath("records.sqlite").exists()
    again = club.open_restored(tmp_path / "club")
    assert again.backup_settings.read().folder == str(club.folder)
    again.records.close()


def test_two_backups_of_one_second_are_two(club: BackedUpClub, monkeypatch):
    then = datetime(2026, 11, 2, 20, tzinfo=UTC)
    monkeypatch.setattr("chordline.bootstrap.backup._now", lambda: then)
    first, second = club.back_up(), club.back_up()
    assert [first.name, second.name] == [
        "chordline-2026-11-02T200000Z.backup",
        "chordline-2026-11-02T200001Z.backup",
    ]
    assert set(first.manifest.counts) == set(second.manifest.counts)


def test_a_folder_of_another_club_is_refused(club: BackedUpClub, tmp_path: Path):
    club.back_up()
    other = backed_up_club(tmp_path / "other")
    with pytest.raises(BackupError, match="another club key"):
        other.app.make_backup().use_folder(str(club.folder))
    other.close()


def test_a_backup_can_be_stopped_and_goes_on_cheaply(club: BackedUpClub):
    calls = 0

    def stop() -> None:
        nonlocal calls
        calls += 1
        if len(list((club.folder / "pictures").glob("??/*"))) == 2:
            raise BackupStoppedError

    with pytest.raises(BackupStoppedError):
        club.app.make_backup()(stop=stop)
    assert calls > 2
    assert list(club.folder.glob("*.backup")) == []
    assert club.back_up().copied == 2


@pytest.mark.parametrize("where", [40, -3000, -1])
def test_a_disk_that_writes_something_else_makes_no_backup(
    club: BackedUpClub, monkeypatch: pytest.MonkeyPatch, where: int
):
    written = BackupFolder.write_backup

    def failing(folder: BackupFolder, name: str, pieces: Iterator[bytes]) -> Path:
        place = written(folder, name, pieces)
        content = bytearray(place.read_bytes())
        content[where] ^= 1
        place.write_bytes(content)
        return place

    monkeypatch.setattr(BackupFolder, "write_backup", failing)
    with pytest.raises(BackupError, match="damaged"):
        club.back_up()
    assert [one for one in club.folder.iterdir() if "backup" in one.name] == []
    assert "damaged" in club.app.backup_settings.read().failure
