"""One picture that is damaged costs that picture, never the backup of all the others."""

from pathlib import Path

import pytest
from typer.testing import CliRunner

from backup_stories import BackedUpClub
from chordline.cli.main import app as command_line
from chordline.errors import BackupError
from vault_stories import PASSPHRASE


def spoil(folder: Path, name: str) -> None:
    """Turn one bit of a sealed file: its size stays, and it does not open any more."""
    (path,) = folder.glob(f"??/{name}")
    content = bytearray(path.read_bytes())
    content[-20] ^= 1
    path.write_bytes(content)


def test_the_others_are_backed_up_and_it_is_told(club: BackedUpClub):
    name = next(iter(club.pictures))
    spoil(club.app.data_folder / "photos", name)
    made = club.back_up()
    assert (made.pictures, made.spoilt) == (4, (name,))
    found = club.app.check_backup(club.folder / made.name)
    assert (found.pictures, found.damaged) == (3, (name,))


def test_the_command_says_so_and_ends_with_three(
    club: BackedUpClub, monkeypatch: pytest.MonkeyPatch
):
    spoil(club.app.data_folder / "photos", next(iter(club.pictures)))
    monkeypatch.setenv("CHORDLINE_PASSPHRASE", PASSPHRASE)
    said = CliRunner().invoke(command_line, ["backup", "--data", str(club.app.data_folder)])
    assert said.exit_code == 3
    assert "1 of the pictures that were tried do not open" in said.output
    assert len(list(club.folder.glob("*.backup"))) == 1


def test_a_copy_that_was_damaged_on_the_stick_is_copied_anew_by_the_next_backup(
    club: BackedUpClub,
):
    club.back_up()
    name = next(iter(club.pictures))
    spoil(club.folder / "pictures", name)
    with pytest.raises(BackupError, match="copies it anew"):
        club.back_up()
    made = club.back_up()
    assert (made.spoilt, made.copied) == ((), 1)
    assert club.app.check_backup(club.folder / made.name).damaged == ()


def test_it_is_restored_without_that_one_where_it_is_said(club: BackedUpClub, tmp_path: Path):
    name = next(iter(club.pictures))
    spoil(club.app.data_folder / "photos", name)
    made = club.back_up()
    with pytest.raises(BackupError, match="damaged when the backup was made"):
        club.restore(made.name, tmp_path / "again")
    assert not (tmp_path / "again").exists()
    done = club.restore(made.name, tmp_path / "again", without_damaged=True)
    assert done.damaged == (name,)
    again = club.open_restored(tmp_path / "again")
    whole = {key: held for key, held in club.pictures.items() if key != name}
    assert {key: again.photo_store.open(key) for key in whole} == whole
    again.records.close()
