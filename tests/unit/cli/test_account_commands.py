"""`chordline account` and `chordline trail`."""

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

from chordline.cli.main import app
from chordline.errors import RefusedInputError, TakenError

WORD = "violet kettle harbour moss"


def _run(folder: Path, *words: str, typed: str | None = None) -> list[dict[str, object]]:
    done = CliRunner().invoke(app, [*words, "--data", str(folder)], input=typed)
    if done.exception is not None and not isinstance(done.exception, SystemExit):
        raise done.exception
    assert done.exit_code == 0, done.output
    return [json.loads(line) for line in done.stdout.splitlines() if line.startswith("{")]


def test_accounts_are_made_changed_and_told(tmp_path: Path) -> None:
    with pytest.raises(RefusedInputError, match="first account has to be a lead"):
        _run(tmp_path, "account", "add", "Gus", "--role", "guest", typed=f"{WORD}\n")
    _run(tmp_path, "account", "add", "Lea", "--role", "lead", typed=f"{WORD}\n")
    _run(tmp_path, "account", "add", "Cleo", typed=f"{WORD}\n")
    with pytest.raises(TakenError):
        _run(tmp_path, "account", "add", "  CLEO ", typed=f"{WORD}\n")
    with pytest.raises(RefusedInputError, match="12 letters"):
        _run(tmp_path, "account", "password", "Cleo", typed="short\n")
    _run(tmp_path, "account", "password", "cleo", typed="walnut bicycle under snow\n")
    _run(tmp_path, "account", "role", "Cleo", "guest")
    _run(tmp_path, "account", "disable", "Cleo")
    with pytest.raises(RefusedInputError, match="has to lead"):
        _run(tmp_path, "account", "disable", "Lea")
    cleo, lea = _run(tmp_path, "account", "list", "--json")
    assert (cleo["name"], cleo["role"], cleo["disabled_at"] is None) == ("Cleo", "guest", False)
    assert (lea["name"], lea["role"], lea["disabled_at"]) == ("Lea", "lead", None)
    _run(tmp_path, "account", "enable", "Cleo")
    assert _run(tmp_path, "account", "list", "--json")[0]["disabled_at"] is None
    told = _run(tmp_path, "trail", "--json", "--limit", "6")
    # Two made, one password, one role, disabled and enabled again; what was refused leaves no line.
    assert len(told) == 6
    assert _run(tmp_path, "trail", "--json") == told
    assert {one["who"] for one in told} == {"this machine"}
    assert {one["about"] for one in told} == {"chordline account"}
    assert all(WORD not in json.dumps(one) for one in told)
