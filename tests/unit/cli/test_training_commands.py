"""How a group trains, and tonight, on the command line."""

import json
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import typer

from chordline.application.training.defaults import STATIONS
from chordline.bootstrap import build_app
from chordline.cli import gym, session
from chordline.cli.main import app
from chordline.errors import ImpossibleRecordError, RefusedInputError, WrongUseError
from club_stories import MONDAY
from training_stories import BORN, keep_plan, planned_session, turn

Run = Callable[..., str]
NAMES = ("Anna Abel", "Anna Beck", "Cleo Dahl")


@pytest.fixture(scope="module")
def club(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The data of a club, to be copied: importing it takes longer than most commands here."""
    folder = tmp_path_factory.mktemp("club")
    rows = "".join(f"{7 + i},{name},Level 3,{BORN}\n" for i, name in enumerate(NAMES))
    (folder / "in.csv").write_text(f"card,name,group,birth_date\n{rows}", encoding="utf-8")
    words = ["roster", "import", str(folder / "in.csv"), "--data", str(folder / "data")]
    with pytest.MonkeyPatch.context() as patch:
        patch.delenv("CHORDLINE_DATABASE", raising=False)
        typer.main.get_command(app).main(words, standalone_mode=False)
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
    monkeypatch.setenv("COLUMNS", "200")

    def run_it(*words: str) -> str:
        capsys.readouterr()
        typer.main.get_command(app).main(list(words), standalone_mode=False)
        return capsys.readouterr().out

    return run_it


def ids() -> list[int]:
    """Numbers of the gymnasts, in the order of `NAMES`."""
    opened = build_app()
    with opened.records.reading() as tx:
        club_id = tx.clubs.all()[0].id
        found = [tx.gymnasts.named(club_id, name)[0].id for name in NAMES]
    opened.records.close()
    return found


def plan(*sessions: dict[str, Any]) -> None:
    opened = build_app()
    with opened.records.reading() as tx:
        group_id = tx.clubs.groups(tx.clubs.all()[0].id)[0].id
    keep_plan(opened.records, group_id, *sessions)
    opened.records.close()


def shown(run: Run, *words: str) -> dict[str, Any]:
    return json.loads(run(*words, "--json"))


def test_a_group_that_nobody_set_up_is_shown_as_we_assume(
    run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    said: list[str] = []
    monkeypatch.setattr(gym, "remark", said.append)
    table = run("gym", "level 3")
    assert "mon, wed, fri from 17:00, 60 min, 2 coaches who can spot" in table
    assert all(one.name in table for one in STATIONS)
    assert "Cleo Dahl: new (not said; the careful word)" in table
    assert any("this is what we assume" in one for one in said)
    record = shown(run, "gym", "Level 3")
    assert record["said"] is False
    assert record["levels"]["Cleo Dahl"] == {"level": 1, "said": False}


def test_what_is_said_of_a_group_stays_and_the_rest_with_it(run: Run) -> None:
    run("gym", "Level 3", "--days", "Thursday, tue", "--minutes", "75", "--coaches", "1")
    run("gym", "Level 3", "--start", "16:30", "--station", "Wall:3:wall, mat", "--station", "Mat:4")
    record = shown(run, "gym", "Level 3", "--level", "cleo:3", "--level", "7:2")
    assert record["said"] is True
    assert (record["days"], record["starts_at"]) == (["tue", "thu"], "16:30")
    assert (record["minutes"], record["coaches"]) == (75, 1)
    assert record["stations"] == [
        {"name": "Wall", "places": 3, "equipment": ["wall", "mat"]},
        {"name": "Mat", "places": 4, "equipment": []},
    ]
    assert {name: one["level"] for name, one in record["levels"].items()} == {
        "Anna Abel": 2,
        "Anna Beck": 1,
        "Cleo Dahl": 3,
    }
    assert shown(run, "gym", "Level 3", "--start", "none")["starts_at"] is None


@pytest.mark.parametrize(
    ("words", "error", "sentence"),
    [
        (["--days", "mon,someday"], WrongUseError, "'som' is no day"),
        (["--days", ","], ImpossibleRecordError, "on which days"),
        (["--start", "five"], WrongUseError, "'five' is no time"),
        (["--minutes", "0"], ImpossibleRecordError, "1 to 480 minutes"),
        (["--coaches", "-1"], ImpossibleRecordError, "0 to 50 coaches"),
        (["--station", "Wall"], WrongUseError, "NAME:PLACES:EQUIPMENT"),
        (["--station", "Wall:0"], ImpossibleRecordError, "1 to 60 places"),
        (["--station", "Wall:2:hoop"], ImpossibleRecordError, "no equipment is called 'hoop'"),
        (["--station", "A:2", "--station", "a:2"], ImpossibleRecordError, "two stations"),
        (["--level", "Cleo"], WrongUseError, "GYMNAST:1"),
        (["--level", "Dora:2"], WrongUseError, "nobody in Level 3 is called 'Dora'"),
        (["--level", "Anna:2"], WrongUseError, "may be Anna Abel, Anna Beck"),
    ],
)
def test_what_cannot_be_is_told_and_changes_nothing(
    run: Run, words: list[str], error: type[Exception], sentence: str
) -> None:
    with pytest.raises(error, match=sentence):
        run("gym", "Level 3", *words)
    assert shown(run, "gym", "Level 3")["said"] is False


def test_a_group_that_is_not_there_is_told_with_those_that_are(run: Run) -> None:
    for command in ("gym", "tonight"):
        with pytest.raises(WrongUseError, match="the groups are: Level 3"):
            run(command, "Level 4")


def test_tonight_shows_who_works_where(run: Run) -> None:
    abel, beck, cleo = ids()
    plan(
        planned_session(
            MONDAY,
            [turn(0, "kneeling-lunge", abel), turn(1, "made-up", beck)],
            [turn(0, "made-up", abel, beck)],
            absent=[cleo],
        )
    )
    table = run("tonight", "Level 3", "--on", "2025-09-01")
    assert "Level 3, 1 Sep 2025, 17:00" in table
    assert "Warm-up 10 min, then 2 rounds of 8 min." in table
    assert "Anna Abel, Anna Beck" in table
    assert "Not here: Cleo Dahl" in table
    assert "Bar" not in table
    other = run("tonight", "Level 3", "--on", "2025-09-02")
    assert "The plan has no session on this day; these are the turns of 1 Sep 2025." in other


def test_who_is_away_and_who_came_after_all_is_said_by_name(run: Run) -> None:
    abel, beck, cleo = ids()
    plan(planned_session(MONDAY, [turn(0, "made-up", abel, beck)], absent=[cleo]))
    day = ("--on", "2025-09-01")
    record = shown(run, "tonight", "Level 3", *day, "--away", "Anna Beck", "--here", "cleo")
    assert record["rounds"] == [[turn(0, "made-up", abel)]]
    assert record["resting"] == [[cleo]]
    assert record["absent"] == [beck]
    assert record["names"][str(cleo)] == "Cleo Dahl"
    assert record["schema"] == "chordline.session/1"
    # Said before, it stays said.
    assert shown(run, "tonight", "Level 3", *day)["absent"] == [beck]
    with pytest.raises(WrongUseError, match="under --away and --here"):
        run("tonight", "Level 3", *day, "--away", "Cleo", "--here", "9")
    with pytest.raises(WrongUseError, match="write it as"):
        run("tonight", "Level 3", "--on", "1.9.2025")


def test_what_was_done_is_kept_once(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    abel, beck, _ = ids()
    plan(planned_session(MONDAY, [turn(0, "made-up", abel, beck)]))
    said: list[str] = []
    monkeypatch.setattr(session, "remark", said.append)
    words = ("tonight", "Level 3", "--on", "2025-09-01", "--away", "Anna Beck")
    run(*words, "--done")
    assert any("has ended" in one for one in said)
    assert shown(run, *words[:4], "--done")["state"] == "ended"
    with pytest.raises(RefusedInputError, match="has ended"):
        run(*words)
    opened = build_app()
    with opened.records.reading() as tx:
        assert [(one.gymnast_id, one.share) for one in tx.training.work([abel, beck])] == [
            (abel, 1.0)
        ]
    opened.records.close()


def test_a_sign_that_was_reported_since_is_told(run: Run) -> None:
    abel, _, _ = ids()
    opened = build_app()
    bars = opened.training.bars["wrist_pain"].loads
    barred = next(
        name for name, one in opened.training.exercises.items() if set(bars) & set(one.loads)
    )
    title = opened.training.exercises[barred].title
    with opened.records.transaction() as tx:
        tx.gymnasts.add_note(
            abel, noted_on=MONDAY, kind="flag", flag="wrist_pain", text="", author="Kim"
        )
    opened.records.close()
    plan(planned_session(MONDAY, [turn(0, barred, abel)]))
    told = run("tonight", "Level 3", "--on", "2025-09-01")
    assert f"Anna Abel does no {title} tonight: a reported sign bars it." in told


def test_without_a_plan_tonight_says_what_to_do(run: Run) -> None:
    with pytest.raises(RefusedInputError, match="no plan of Level 3 holds"):
        run("tonight", "Level 3")
