"""`chordline sheet`: who, what, in which language, and where it goes."""

import io
from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path

import pytest
import typer
from pypdf import PdfReader

from chordline.bootstrap import build_app
from chordline.cli.main import app
from chordline.errors import RefusedInputError, WrongUseError
from shared_scenes import scenes_set_once
from training_sheet_samples import DAY, plan_record

Run = Callable[..., str]


@pytest.fixture(scope="module", autouse=True)
def shared_scenes() -> Iterator[None]:
    with scenes_set_once():
        yield


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    """Run a command upon a planned club and return the words of the sheet that it wrote."""
    monkeypatch.delenv("CHORDLINE_DATABASE", raising=False)
    data = tmp_path / "data"
    (tmp_path / "in.csv").write_text(
        "card,name,group,birth_date\n"
        "7,Ada Berg,Level 3,2016-03-01\n8,Ada Holm,Level 3,2016-03-01\n"
        "9,Zoë Lund,Level 3,2016-03-01\n",
        encoding="utf-8",
    )
    command = typer.main.get_command(app)
    command.main(
        ["roster", "import", str(tmp_path / "in.csv"), "--data", str(data)], standalone_mode=False
    )
    opened = build_app(data=data)
    with opened.records.transaction() as tx:
        club = tx.clubs.all()[0]
        group = tx.clubs.groups(club.id)[0]
        ids = tuple(tx.gymnasts.with_card(club.id, card).id for card in (7, 8, 9))  # type: ignore[union-attr]
        record = plan_record(ids, rounds=2, stations=2, weeks=1)
        tx.training.add_plan(group.id, first_day=DAY, record=record, author="Kim")
        tx.gymnasts.add_note(
            ids[0], noted_on=DAY, kind="flag", text="", author="Kim", flag="wrist_pain"
        )
    opened.records.close()
    capsys.readouterr()

    def run_it(*words: str) -> str:
        target = tmp_path / "out.pdf"
        command.main(
            ["sheet", *words, "--data", str(data), "-o", str(target)], standalone_mode=False
        )
        assert f"Wrote {target}." in capsys.readouterr().err.replace("\n", "")
        pages = PdfReader(io.BytesIO(target.read_bytes())).pages
        return " ".join(" ".join(page.extract_text() for page in pages).split())

    return run_it


ON = ("--on", DAY.isoformat())


@pytest.mark.parametrize("who", ["9", "Zoë Lund", "zoe", "Zoë"])
def test_a_gymnast_is_found_by_card_name_or_first_name(run: Run, who: str) -> None:
    assert "Zoë Lund" in run("family", who, *ON)


@pytest.mark.slow
def test_every_kind_in_a_language(run: Run) -> None:
    assert "Zu Hause" in run("family", "7", "--language", "de", *ON)
    assert "Arbeit" in run("coach", "7", "--language", "de", *ON)
    assert "Runde" in run("stations", "Level 3", "--language", "de", *ON)
    assert "Minuten je Woche" in run("squad", "level 3", "--language", "de", *ON)
    assert "Unsere Bitte" in run("referral", "7", "--language", "de", *ON)


def test_the_only_group_need_not_be_named_and_the_next_session_stands_in(
    run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    class EveOfIt(date):
        @classmethod
        def today(cls) -> date:
            return date(2026, 8, 31)

    monkeypatch.setattr("chordline.cli.sheet.date", EveOfIt)
    assert "Tuesday 1 September" in run("stations")


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("family",), "whose sheet"),
        (("family", "Ada"), "Ada Berg, Ada Holm"),
        (("family", "Nobody"), "nobody is found"),
        (("squad", "Level 9"), "the groups are: Level 3"),
        (("stations", "Level 3", "--on", "yesterday"), "is no day"),
    ],
)
def test_what_is_worded_wrongly_is_said(run: Run, words: tuple[str, ...], told: str) -> None:
    with pytest.raises(WrongUseError, match=told):
        run(*words)


def test_without_an_open_sign_there_is_nothing_to_refer(run: Run) -> None:
    with pytest.raises(RefusedInputError, match="Zoë Lund has no open sign"):
        run("referral", "9", *ON)


def test_a_day_without_a_session_names_the_next(run: Run) -> None:
    with pytest.raises(RefusedInputError, match="3 Sep 2026"):
        run("stations", "Level 3", "--on", "2026-09-02")


def test_a_sheet_needs_a_place(run: Run) -> None:
    command = typer.main.get_command(app)
    with pytest.raises(WrongUseError, match=r"-o FILE\.pdf"):
        command.main(["sheet", "family", "7"], standalone_mode=False)
