"""`chordline ladder` on a club of its own."""

import json
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest
import typer

from chordline.application.club.records import NewGymnast
from chordline.bootstrap import build_app
from chordline.cli.main import app
from chordline.errors import WrongUseError

Run = Callable[..., str]


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    """Run the command on a club with Ada, Ada-Lena (in Tuesday) and Bea."""
    monkeypatch.delenv("CHORDLINE_DATABASE", raising=False)
    monkeypatch.delenv("CHORDLINE_CATALOGUE", raising=False)
    data = tmp_path / "data"
    made = build_app(data=data)
    with made.records.transaction() as tx:
        club = tx.clubs.add("Turnverein")
        tx.gymnasts.add(club.id, NewGymnast("Ada Berg", card=7, birth_date=date(2014, 1, 1)))
        lena = tx.gymnasts.add(club.id, NewGymnast("Ada-Lena Zorn", card=8))
        tx.gymnasts.add(club.id, NewGymnast("Bea Muster"))
        group = tx.clubs.add_group(club.id, "Tuesday")
        tx.clubs.put_in_group(group.id, [lena.id])
    made.records.close()

    def run_it(*words: str) -> str:
        capsys.readouterr()
        words = ("ladder", *words, "--data", str(data))
        typer.main.get_command(app).main(list(words), standalone_mode=False)
        return capsys.readouterr().out

    return run_it


def test_everybody_by_name(run: Run) -> None:
    told = run()
    assert told.index("Ada Berg") < told.index("Ada-Lena Zorn") < told.index("Bea Muster")
    assert "Backward giant" in told


def test_a_group_only(run: Run) -> None:
    told = run("--group", "tuesday")
    assert "Ada-Lena Zorn" in told
    assert "Bea" not in told


def test_her_by_card_by_name_and_by_its_beginning(run: Run) -> None:
    for wanted in ("7", "ada berg", "Ada B"):
        assert run(wanted).startswith("Ada Berg (card 7)\n")
    assert "not tested yet. To decide:" in run("7")


def test_said_and_taken_back(run: Run) -> None:
    told = run("7", "--has", "tripod", "--has", "back-roll")
    assert "Tripod, knees on the elbows [tripod]: has it" in told
    assert "said by command line" in told
    assert "[tripod]: has it" not in run("7", "--not-yet", "tripod")
    assert "[back-roll]: has it" in run("7")


def test_one_object_a_gymnast(run: Run) -> None:
    records = [json.loads(line) for line in run("--json").splitlines()]
    assert [one["gymnast"] for one in records] == ["Ada Berg", "Ada-Lena Zorn", "Bea Muster"]
    (one,) = (json.loads(line) for line in run("bea", "--json").splitlines())
    assert one["schema"] == "chordline.ladder/1"


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("7", "--has", "moon"), "no rung is called 'moon'; the ladder has pelvis-tucked"),
        (("7", "--not-yet", "moon"), "no rung is called 'moon'"),
        (("--has", "tripod"), "need a GYMNAST"),
        (("7", "--group", "Tuesday"), "not both"),
        (("7", "--has", "tripod", "--not-yet", "tripod"), "both --has and --not-yet"),
        (("nobody",), "nobody is found by 'nobody'"),
        (("999",), "nobody is found by '999'"),
        (("ada",), "several gymnasts are found by 'ada': Ada Berg, Ada-Lena Zorn"),
        (("--group", "Sunday"), "there is no group 'Sunday'; the groups are: Tuesday"),
    ],
)
def test_what_is_worded_wrongly_is_told(run: Run, words: tuple[str, ...], told: str) -> None:
    with pytest.raises(WrongUseError, match=told.replace("(", r"\(")):
        run(*words)


def test_a_wrong_rung_changes_nothing(run: Run) -> None:
    with pytest.raises(WrongUseError):
        run("7", "--has", "tripod", "--has", "moon")
    assert "has it" not in run("7")
