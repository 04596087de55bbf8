"""A group's plan on the command line."""

import json
import re
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import typer
from icalendar import Calendar

from chordline.application.training.make_plan import MakePlan
from chordline.bootstrap import build_app
from chordline.cli import plan
from chordline.cli.main import app
from chordline.errors import RefusedInputError, WrongUseError
from training_stories import BORN

Run = Callable[..., str]
FIRST = ("--from", "2025-09-01", "--weeks", "1")


@pytest.fixture(scope="module")
def club(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The data of a club, to be copied: setting it up takes longer than most commands here."""
    folder = tmp_path_factory.mktemp("club")
    rows = f"7,Anna Abel,Level 3,{BORN}\n8,Cleo Dahl,Level 3,{BORN}\n"
    (folder / "in.csv").write_text(f"card,name,group,birth_date\n{rows}", encoding="utf-8")
    trains = ("--days", "mon", "--minutes", "26", "--station", "Mats:4:mat")
    with pytest.MonkeyPatch.context() as patch:
        patch.delenv("CHORDLINE_DATABASE", raising=False)
        for words in (("roster", "import", str(folder / "in.csv")), ("gym", "Level 3", *trains)):
            typer.main.get_command(app).main(
                [*words, "--data", str(folder / "data")], standalone_mode=False
            )
    return folder / "data"


@pytest.fixture
def run(
    club: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> Run:
    """Run a command upon a club of its own and return what it wrote to standard output."""
    shutil.copytree(club, tmp_path / "data")
    monkeypatch.setenv("CHORDLINE_DATA", str(tmp_path / "data"))
    monkeypatch.delenv("CHORDLINE_DATABASE", raising=False)
    monkeypatch.chdir(tmp_path)

    def run_it(*words: str) -> str:
        capsys.readouterr()
        typer.main.get_command(app).main(list(words), standalone_mode=False)
        return capsys.readouterr().out

    return run_it


def kept() -> list[dict[str, Any]]:
    opened = build_app()
    with opened.records.reading() as tx:
        group_id = tx.clubs.groups(tx.clubs.all()[0].id)[0].id
        records = [dict(one.record) for one in tx.training.plans(group_id)]
    opened.records.close()
    return records


def test_a_plan_says_who_gets_what_and_how_good_it_is(run: Run) -> None:
    told = run("plan", "Level 3", *FIRST, "--calendar", "days.ics")
    assert told.startswith("1 sessions from 1 Sep 2025 to 7 Sep 2025")
    assert re.search(r"Bow expected to go, on average over the group: \d\.\d % ± \d", told)
    assert "Anna Abel" in told
    assert "never screened" in told
    assert "Round 1" in told
    (event,) = Calendar.from_ical(Path("days.ics").read_bytes()).walk("VEVENT")
    assert event["summary"] == "Level 3"
    assert run("plan", "Level 3", "--show", "--from", "2025-09-01") == told
    record = json.loads(run("plan", "Level 3", "--show", "--json", "--from", "2025-09-03"))
    assert record["schema"] == "chordline.plan/1"
    assert sorted(record["names"].values()) == ["Anna Abel", "Cleo Dahl"]
    assert len(kept()) == 1


def test_what_was_asked_for_stays_until_it_is_forgotten(run: Run) -> None:
    first = json.loads(run("plan", "Level 3", *FIRST, "--json"))
    turns = [turn for one in first["sessions"] for round_ in one["rounds"] for turn in round_]
    what = turns[0]["exercise"]
    run("plan", "Level 3", *FIRST, "--exclude", f"all:{what}", "--away", "Cleo:2025-09-01")
    run("plan", "Level 3", *FIRST)
    latest = kept()[0]
    assert what not in str(latest["sessions"])
    assert latest["asked"]["exclusions"] == [{"exercise": what, "gymnast": None, "date": None}]
    (away,) = latest["sessions"][0]["absent"]
    assert {str(away)} == {id_ for id_, name in first["names"].items() if name == "Cleo Dahl"}
    run("plan", "Level 3", *FIRST, "--fresh", "--pin", f"8:{what}:2025-09-01")
    asked = kept()[0]["asked"]
    assert (asked["exclusions"], asked["absences"]) == ([], [])
    assert asked["pins"] == [{"exercise": what, "gymnast": away, "date": "2025-09-01"}]


@pytest.mark.parametrize(
    ("words", "error", "sentence"),
    [
        (["--from", "1.9.2025"], WrongUseError, "write it as"),
        (["--pin", "Anna"], WrongUseError, "write GYMNAST:EXERCISE"),
        (["--pin", "Dora:forearm-plank"], WrongUseError, "nobody in Level 3 is called 'Dora'"),
        (["--exclude", "Anna:tripod"], WrongUseError, "like it: tripod"),
        (["--away", "Anna"], WrongUseError, "write GYMNAST:DATE"),
        (["--weeks", "0"], RefusedInputError, "1 to 26 weeks"),
        (["--show"], RefusedInputError, "without --show makes one"),
    ],
)
def test_what_cannot_be_is_told_and_nothing_is_kept(
    run: Run, words: list[str], error: type[Exception], sentence: str
) -> None:
    with pytest.raises(error, match=sentence):
        run("plan", "Level 3", *words)
    assert kept() == []


def test_ctrl_c_stops_and_keeps_nothing(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    said: list[str] = []
    monkeypatch.setattr(plan, "complain", said.append)

    def interrupt(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    def work_until_stopped(self: object, *_: object, cancelled: Callable[[], bool], **__: object):
        while not cancelled():
            pass

    monkeypatch.setattr(plan, "wait", interrupt)
    monkeypatch.setattr(MakePlan, "__call__", work_until_stopped)
    command = typer.main.get_command(app)
    assert command.main(["plan", "Level 3", *FIRST], standalone_mode=False) == 130
    assert said == ["Stopped. Nothing of this plan is kept; the one before it holds."]
    assert kept() == []
