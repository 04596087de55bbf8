"""`chordline vault` from the command line."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pypdf
import pytest
from typer.testing import CliRunner

from chordline.adapters.vault import club_vault
from chordline.bootstrap import App
from chordline.bootstrap.app import PASSPHRASE_VARIABLE
from chordline.cli.main import app
from chordline.errors import VaultLockedError, WrongSecretError, WrongUseError
from vault_stories import CHEAP, PASSPHRASE


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    monkeypatch.setattr(club_vault, "Argon2", lambda: CHEAP)
    monkeypatch.delenv(PASSPHRASE_VARIABLE, raising=False)
    return tmp_path / "club"


def run(folder: Path, *words: str, typed: str = "") -> Any:
    return CliRunner().invoke(app, ["vault", *words, "--data", str(folder)], input=typed)


def test_status_says_where_the_key_lies_and_makes_none(folder: Path) -> None:
    told = run(folder, "status")
    assert told.exit_code == 0
    assert "the club key lies beside them" in told.stdout
    assert "no recovery sheet was printed" in told.stdout
    assert not (folder / "club.key").exists()


def test_a_passphrase_is_set_asked_for_and_removed(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert run(folder, "passphrase", typed=f"{PASSPHRASE}\n").exit_code == 0
    assert "locked" in run(folder, "status").stdout
    assert isinstance(run(folder, "unlock").exception, WrongSecretError)
    assert isinstance(run(folder, "passphrase", typed="x" * 20).exception, VaultLockedError)
    monkeypatch.setenv(PASSPHRASE_VARIABLE, PASSPHRASE)
    assert run(folder, "unlock").exit_code == 0
    assert "the passphrase was given" in run(folder, "status").stdout
    assert run(folder, "passphrase", "--remove").exit_code == 0
    monkeypatch.delenv(PASSPHRASE_VARIABLE)
    assert run(folder, "unlock").exit_code == 0


def test_a_sheet_is_printed_for_its_owner_only_and_opens(folder: Path, tmp_path: Path) -> None:
    run(folder, "passphrase", typed=f"{PASSPHRASE}\n")
    paper = tmp_path / "sheet.pdf"
    environment = {PASSPHRASE_VARIABLE: PASSPHRASE}
    words = ["vault", "recovery", "-o", str(paper), "--data", str(folder)]
    assert CliRunner(env=environment).invoke(app, words).exit_code == 0
    assert paper.stat().st_mode & 0o077 == 0
    text = pypdf.PdfReader(paper).pages[0].extract_text().split()
    code = "-".join(one for one in text if len(one) == 5 and one.isalnum() and one.upper() == one)
    typed = f"{code}\nanother four words entirely\n"
    again = run(folder, "unlock", "--code", "-", typed=typed)
    assert again.exit_code == 0, again.exception
    assert App(data=folder, passphrase="another four words entirely").vault.opens()


def test_a_sheet_needs_a_place(folder: Path) -> None:
    assert isinstance(run(folder, "recovery").exception, WrongUseError)
    assert not (folder / "club.key").exists()


def test_sealing_says_what_it_did(folder: Path) -> None:
    told = run(folder, "seal")
    assert told.exit_code == 0
    assert "0 files sealed" in told.stderr
