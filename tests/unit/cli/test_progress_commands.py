"""`chordline progress` and `chordline retests` on a club of its own."""

import json
import sys
from collections.abc import Callable, Iterator
from datetime import date, timedelta
from pathlib import Path

import pytest
import typer
from pypdf import PdfReader

from chordline.bootstrap import build_app
from chordline.cli.main import app
from chordline.errors import WrongUseError

sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "web"))
from club_pages import CLOSED, open_club

Run = Callable[..., str]
TODAY = date.today()
LAST, BEFORE = TODAY - timedelta(days=20), TODAY - timedelta(days=90)


@pytest.fixture(scope="module", autouse=True)
def plain_environment() -> Iterator[None]:
    with pytest.MonkeyPatch.context() as patch:
        patch.delenv("CHORDLINE_DATABASE", raising=False)
        patch.delenv("CHORDLINE_CATALOGUE", raising=False)
        yield


@pytest.fixture(scope="module")
def data(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A club with Ada, whose shoulders opened, and Bea, who has one screen; nothing changes it."""
    data = tmp_path_factory.mktemp("club") / "data"
    with open_club(data) as club:
        ada, bea = club.add("Ada Berg", 7), club.add("Bea Muster", 8)
        opened = {
            test: {name: 0.2 * at for name, at in shown.items()} for test, shown in CLOSED.items()
        }
        club.screen(ada, day=BEFORE)
        club.screen(ada, opened, day=LAST)
        club.screen(bea, day=LAST)
        club.post("/groups", name="Red")
        club.post("/groups/1/members", put=str(bea.id))
    return data


@pytest.fixture
def run(data: Path, capsys: pytest.CaptureFixture[str]) -> Run:
    """Run a command upon the club and return what it wrote to standard output."""

    def run_it(*words: str) -> str:
        capsys.readouterr()
        typer.main.get_command(app).main([*words, "--data", str(data)], standalone_mode=False)
        return capsys.readouterr().out

    return run_it


def test_one_gymnast_with_words_what_decides_and_the_next_screen(run: Run) -> None:
    told = run("progress", "7")
    assert told.startswith("Ada Berg (card 7)\n")
    assert "less missing than on" in told
    assert "real change: yes (over 99 %)" in told
    assert "To decide: more time, or ‘" in told
    assert "Measures beyond error since" in told
    assert "  Next screen from " in told
    assert "Bea" not in told


def test_everybody_stands_by_name_and_one_screen_is_no_change(run: Run) -> None:
    told = run("progress")
    assert told.index("Ada Berg") < told.index("Bea Muster")
    assert "One screen only: a change needs two." in told[told.index("Bea") :]
    assert run("progress", "--group", "red").startswith("Bea Muster")


def test_json_is_one_object_a_gymnast(run: Run) -> None:
    ada, bea = map(json.loads, run("progress", "--json").splitlines())
    assert ada["schema"] == bea["schema"] == "chordline.progress/1"
    assert ada["capacities"]["shoulder_flexion_deg"]["since_last"]["standing"] == "better"
    assert bea["capacities"]["shoulder_flexion_deg"]["since_last"] is None
    assert bea["note"].startswith("One screen only")


def test_retests_have_a_day_a_reason_and_a_calendar_without_names(run: Run, tmp_path: Path) -> None:
    file = tmp_path / "days.ics"
    told = run("retests", "--calendar", str(file))
    assert "Ada Berg: from " in told
    assert "worn off by then" in told
    calendar = file.read_text()
    assert calendar.count("Re-tests due:") >= 1
    assert "Ada" not in calendar
    assert "Bea" not in calendar
    (bea,) = map(json.loads, run("retests", "--group", "Red", "--json").splitlines())
    assert bea["schema"] == "chordline.retest/1"
    assert bea["last"] == LAST.isoformat()
    assert LAST + timedelta(weeks=3) <= date.fromisoformat(bea["due"])
    assert date.fromisoformat(bea["due"]) <= LAST + timedelta(weeks=12)
    assert bea["is_due"] is False


def test_wrong_names_are_wrong_use(run: Run) -> None:
    with pytest.raises(WrongUseError, match="nobody is found"):
        run("progress", "Zoë")
    with pytest.raises(WrongUseError, match="there is no group"):
        run("retests", "--group", "Blue")
    with pytest.raises(WrongUseError, match="not both"):
        run("progress", "7", "--group", "Red")


def test_an_empty_club_is_told_what_to_do(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for command in ("progress", "retests"):
        words = [command, "--data", str(tmp_path)]
        typer.main.get_command(app).main(words, standalone_mode=False)
        assert "nobody is here yet" in capsys.readouterr().err


def test_the_sheet_is_written(run: Run, tmp_path: Path) -> None:
    file = tmp_path / "ada.pdf"
    run("sheet", "progress", "Ada", "-o", str(file), "--language", "fr")
    (page,) = PdfReader(file).pages
    said = " ".join(page.extract_text().split())
    assert "Ce qui a changé" in said
    assert "vrai changement" in said
    assert "Bea" not in said


def test_errors_in_use_that_change_make_progress_anew(tmp_path: Path) -> None:
    made = build_app(data=tmp_path)
    first = made.her_progress
    assert made.her_progress is first
    other = made.catalogue.model_copy(update={"version": "errors of the club's own"})
    made.__dict__["catalogue"] = other
    made.renew_errors()
    assert made.her_progress is not first
    made.records.close()
