"""`chordline backup`, `restore` and `doctor --json`."""

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

from backup_stories import BackedUpClub, backed_up_club
from chordline.cli.main import app
from vault_stories import PASSPHRASE


@pytest.fixture
def club(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> BackedUpClub:
    monkeypatch.setenv("CHORDLINE_PASSPHRASE", PASSPHRASE)
    made = backed_up_club(tmp_path)
    made.close()
    return made


def _run(*words: object):
    return CliRunner().invoke(app, [str(word) for word in words])


def test_back_up_list_check_and_restore(club: BackedUpClub, tmp_path: Path):
    data = ("--data", tmp_path / "club")
    made = _run("backup", tmp_path / "other", *data)
    assert made.exit_code == 0
    file = Path(made.stdout.strip())
    assert file.parent == tmp_path / "other"
    assert _run("backup", "--quiet", *data).output == ""
    listed = json.loads(_run("backup", "--list", "--json", *data).stdout)
    assert listed["schema"] == "chordline.backups/1"
    assert file.name in [one["name"] for one in listed["backups"]]
    assert all(one["checked_at"] for one in listed["backups"])
    assert _run("backup", "--check", file, *data).exit_code == 0
    restored = _run("restore", file, "--to", tmp_path / "again")
    assert (restored.exit_code, restored.stdout.strip()) == (0, str(tmp_path / "again"))
    # Of a club that is not here: its own passphrase opens it.
    assert _run("backup", "--check", file, "--data", tmp_path / "elsewhere").exit_code == 0


def test_settings_are_said_on_the_command_line(club: BackedUpClub, tmp_path: Path):
    assert _run("backup", "--daily-at", "none", "--keep", "3,2,1", "--data", tmp_path / "club")
    settings = club.app.backup_settings.read()
    assert (settings.daily_at, settings.keep.daily, settings.keep.monthly) == (None, 3, 1)
    assert list(club.folder.glob("*.backup")) == []
    for wrong in (("--keep", "0,1,1"), ("--keep", "x"), ("--daily-at", "late")):
        assert _run("backup", *wrong, "--data", tmp_path / "club").exit_code != 0


def test_doctor_finds_a_damaged_database_and_missing_pictures(club: BackedUpClub, tmp_path: Path):
    def findings() -> dict[str, dict[str, str]]:
        told = json.loads(_run("doctor", "--json", "--data", tmp_path / "club").stdout)
        return {one["what"]: one for one in told["findings"]}

    well = findings()
    assert well["database"]["state"] == well["picture files"]["state"] == "well"
    assert "4 were opened" in well["picture files"]["told"]
    assert well["backups"]["state"] == "limited"
    picture = next((tmp_path / "club" / "photos").glob("??/*"))
    whole = picture.read_bytes()
    picture.write_bytes(whole[:-1] + bytes([whole[-1] ^ 1]))
    assert findings()["picture files"]["state"] == "broken"
    picture.unlink()
    assert "1 of the files" in findings()["picture files"]["told"]
    records = tmp_path / "club" / "records.sqlite"
    content = bytearray(records.read_bytes())
    content[4096:] = b"\xff" * (len(content) - 4096)
    records.write_bytes(content)
    assert _run("doctor", "--data", tmp_path / "club").exit_code == 3
    assert findings()["database"]["state"] == "broken"
