"""`chordline consent`, `export` and `erase`, as somebody types them."""

import json
import zipfile
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from chordline.application.club.records import NewGymnast
from chordline.bootstrap import build_app
from chordline.cli.main import app
from chordline.errors import WrongUseError


@pytest.fixture(scope="module")
def data(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("club")
    club = build_app(data=folder)
    with club.records.transaction() as tx:
        club_id = tx.clubs.add("Turnverein").id
        for card, name in enumerate(("Ada Berg", "Bea Muster"), 1):
            tx.gymnasts.add(club_id, NewGymnast(name, card))
    club.records.close()
    return folder


def run(data: Path, *words: str) -> Result:
    return CliRunner().invoke(app, [*words, "--data", str(data)])


def test_what_a_family_said_is_written_down_and_listed(data: Path) -> None:
    assert "Ada Berg: nobody asked yet; ask: not asked yet" in run(data, "consent", "list").output
    said = ("--measure", "--no-keep", "--by", "her mother", "--on", "2025-09-01")
    done = run(data, "consent", "set", "1", *said, "--json")
    assert done.exit_code == 0, done.output
    record = json.loads(done.stdout.splitlines()[0])
    assert (record["measure"], record["keep_pictures"], record["stands"]) == (True, False, "holds")
    assert (record["said_by"], record["said_on"]) == ("her mother", "2025-09-01")
    # What is not named stays; three noes are a no.
    assert run(data, "consent", "set", "Ada", "--no-measure").exit_code == 0
    listed = run(data, "consent", "list", "--json").stdout.splitlines()
    ada = next(one for one in map(json.loads, listed) if one["card"] == 1)
    assert (ada["measure"], ada["stands"], ada["said_by"]) == (False, "holds", "her mother")
    assert isinstance(run(data, "consent", "set", "Ada").exception, WrongUseError)
    assert run(data, "consent", "apply", "--dry-run").stdout == ""


def test_an_export_is_for_its_owner_alone_and_nothing_half_is_left(
    data: Path, tmp_path: Path
) -> None:
    out = tmp_path / "ada.zip"
    done = run(data, "export", "Ada", "-o", str(out), "--json")
    assert done.exit_code == 0, done.output
    record = json.loads(done.stdout.splitlines()[0])
    assert record["schema"] == "chordline.export/1"
    assert record["rows"]["gymnast"] == 1
    assert out.stat().st_mode & 0o077 == 0
    assert [one.name for one in tmp_path.iterdir()] == ["ada.zip"]
    with zipfile.ZipFile(out) as whole:
        assert "Ada Berg" in whole.read("README.txt").decode()


def test_erasing_needs_her_whole_name_and_leaves_a_receipt(data: Path, tmp_path: Path) -> None:
    receipt = tmp_path / "receipt.pdf"
    wrong = run(data, "erase", "Bea", "--yes", "Bea", "--receipt", str(receipt))
    assert isinstance(wrong.exception, WrongUseError)
    assert not receipt.exists()
    done = run(data, "erase", "Bea", "--yes", "Bea Muster", "--receipt", str(receipt))
    assert done.exit_code == 0, done.output
    assert receipt.read_bytes().startswith(b"%PDF")
    assert receipt.stat().st_mode & 0o077 == 0
    assert "Bea" not in run(data, "consent", "list").output
