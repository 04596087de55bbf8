"""`chordline growth` on a club of its own."""

import json
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path

import pytest
import typer

from chordline.application.club.records import BodySize, NewGymnast
from chordline.bootstrap import build_app
from chordline.cli.main import app
from chordline.errors import WrongUseError

Run = Callable[..., str]
TODAY = date.today()


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    """Run the command on a club with Ada, who grows fast, and Bea, of whom nothing is known."""
    monkeypatch.delenv("CHORDLINE_DATABASE", raising=False)
    monkeypatch.delenv("CHORDLINE_CATALOGUE", raising=False)
    data = tmp_path / "data"
    made = build_app(data=data)
    born = TODAY - timedelta(days=4018)
    with made.records.transaction() as tx:
        club = tx.clubs.add("Turnverein")
        ada = NewGymnast("Ada Berg", 7, born, growth_reference="girls")
        her = tx.gymnasts.add(club.id, ada)
        tx.gymnasts.add_size(her.id, BodySize(TODAY - timedelta(days=184), 135.0))
        tx.gymnasts.add_size(her.id, BodySize(TODAY, 140.5, 34.0, 73.0))
        tx.gymnasts.add(club.id, NewGymnast("Bea Muster"))
    made.records.close()

    def run_it(*words: str) -> str:
        capsys.readouterr()
        words = ("growth", *words, "--data", str(data))
        typer.main.get_command(app).main(list(words), standalone_mode=False)
        return capsys.readouterr().out

    return run_it


def test_everybody_or_one_by_card_or_name(run: Run) -> None:
    told = run()
    assert told.index("Ada Berg (card 7)") < told.index("Bea Muster")
    assert "Her birth date is not known" in told
    for wanted in ("7", "ada b"):
        one = run(wanted)
        assert one.startswith("Ada Berg (card 7)\n")
        assert "Bea" not in one


def test_words_figures_warning_and_care(run: Run) -> None:
    told = run("7")
    assert "She grew about 11 cm a year. [10.9 ± 2.8 cm/year" in told
    assert "worst for those who mature late" in told
    assert "[Jackson 1976]" in told


def test_json_is_one_object_a_gymnast(run: Run) -> None:
    ada, bea = map(json.loads, run("--json").splitlines())
    assert ada["schema"] == bea["schema"] == "chordline.growth/1"
    assert ada["retest_sooner"] is True
    assert ada["fast_growth"]["probability"] > 0.9
    assert [one["equation"] for one in ada["maturity"]["offsets"]] == ["mirwald_girl", "moore_girl"]
    assert bea["stature"]["untold"] == "birth-date-not-said"


def test_nobody_of_a_name_is_wrong_use(run: Run) -> None:
    with pytest.raises(WrongUseError, match="nobody is found"):
        run("Zoë")
