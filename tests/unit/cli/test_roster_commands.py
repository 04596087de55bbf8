import json
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest
import typer
from pypdf import PdfReader

from chordline.adapters.tables.table_file import TableFileReader
from chordline.application.roster.columns import COLUMNS
from chordline.cli import roster
from chordline.errors import RefusedInputError, WrongUseError

Run = Callable[..., str]

LINES = "card,name,group,shoe size\n7,=Zoë,Level 3,36\n,Bea Muster,Level 3 | Mon,\n8,Cleo,,"


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    """Run a command in a folder of its own and return what it wrote to standard output."""
    monkeypatch.setenv("CHORDLINE_DATA", str(tmp_path / "data"))
    monkeypatch.delenv("CHORDLINE_DATABASE", raising=False)
    monkeypatch.setenv("COLUMNS", "300")
    monkeypatch.chdir(tmp_path)
    (tmp_path / "in.csv").write_text(LINES, encoding="utf-8")

    def run_it(*words: str) -> str:
        capsys.readouterr()
        typer.main.get_command(roster.app).main(list(words), standalone_mode=False)
        return capsys.readouterr().out

    return run_it


def listed(run: Run, *words: str) -> list[str]:
    return [json.loads(line)["name"] for line in run("list", "--json", *words).splitlines()]


def test_a_preview_shows_every_line_and_changes_nothing(run: Run):
    shown = run("preview", "in.csv")
    assert shown.splitlines()[-1] == "3 new, 0 changed, 0 the same, 0 bad"
    assert "Bea Muster" in shown
    assert listed(run) == []


def test_an_import_says_what_it_did(run: Run, capsys: pytest.CaptureFixture[str]):
    assert run("import", "in.csv").strip() == "3 new, 0 changed, 0 the same, 0 left out"
    assert run("import", "in.csv").strip() == "0 new, 0 changed, 3 the same, 0 left out"
    assert listed(run) == ["Bea Muster", "Cleo", "=Zoë"]


def test_what_is_not_read_is_said(
    run: Run, monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: pytest.CaptureFixture[str]
):
    said: list[str] = []
    monkeypatch.setattr(roster, "remark", said.append)
    (tmp_path / "in.csv").write_bytes(LINES.encode("cp1252"))
    run("preview", "in.csv")
    assert "not read, because unknown here: shoe size" in said
    assert "new groups: Level 3, Mon" in said
    assert any("Windows-1252: '=Zoë'" in one for one in said)


def test_bad_rows_refuse_the_file_unless_they_are_skipped(run: Run, tmp_path: Path):
    (tmp_path / "in.csv").write_text("name,card\nAnna,1\nBea,x\n", encoding="utf-8")
    with pytest.raises(RefusedInputError, match="line 3"):
        run("import", "in.csv")
    assert listed(run) == []
    shown = run("import", "in.csv", "--skip-bad")
    assert "left out" in shown
    assert shown.splitlines()[-1] == "1 new, 0 changed, 0 the same, 1 left out"
    assert listed(run) == ["Anna"]


def test_the_day_of_the_sizes_is_said(run: Run, tmp_path: Path):
    (tmp_path / "in.csv").write_text("name,mass_kg\nAnna,34\n", encoding="utf-8")
    run("import", "in.csv", "--measured-on", "2025-09-01")
    run("export", "-o", "out.csv")
    table = TableFileReader().read((tmp_path / "out.csv").read_bytes())
    assert table.rows[0].cells["measured_on"] == "2025-09-01"
    with pytest.raises(WrongUseError, match="write it like"):
        run("import", "in.csv", "--measured-on", "1.9.2025")
    with pytest.raises(WrongUseError, match="still to come"):
        run("preview", "in.csv", "--measured-on", date(9000, 1, 1).isoformat())


@pytest.mark.parametrize("name", ["out.csv", "out.xlsx"])
def test_an_export_comes_in_as_it_is(run: Run, tmp_path: Path, name: str):
    run("import", "in.csv")
    run("export", "-o", name)
    table = TableFileReader().read((tmp_path / name).read_bytes())
    assert table.columns == COLUMNS
    assert [row.cells["name"] for row in table.rows] == ["Bea Muster", "Cleo", "=Zoë"]
    assert run("preview", name).splitlines()[-1] == "0 new, 0 changed, 3 the same, 0 bad"
    run("export", "-o", name, "--group", "mon")
    table = TableFileReader().read((tmp_path / name).read_bytes())
    assert [row.cells["name"] for row in table.rows] == ["Bea Muster"]


def test_the_list_is_of_a_group_or_of_those_found(run: Run):
    run("import", "in.csv")
    assert listed(run, "--group", "level 3") == ["Bea Muster", "=Zoë"]
    assert listed(run, "--search", "mus") == ["Bea Muster"]
    assert listed(run, "--search", "8") == ["Cleo"]
    assert "Level 3, Mon" in run("list")
    record = json.loads(run("list", "--json", "--search", "zoe"))
    assert record == {
        "schema": "chordline.roster/1",
        "id": record["id"],
        "card": 7,
        "name": "=Zoë",
        "birth_date": None,
        "groups": ["Level 3"],
        "consent": {
            "measure": False,
            "keep_pictures": False,
            "show_to_squad": False,
            "until": None,
        },
        "last_screened": None,
    }


def test_a_group_that_is_not_there_is_told_with_those_that_are(run: Run):
    run("import", "in.csv")
    for command in (("list",), ("export", "-o", "a.csv"), ("cards",)):
        with pytest.raises(WrongUseError, match="the groups are: Level 3, Mon"):
            run(*command, "--group", "Level 4")


def test_cards_are_printed_for_those_who_have_one_without_names(run: Run, tmp_path: Path):
    run("import", "in.csv")
    run("cards", "-o", "all.pdf")
    pages = [page.extract_text() for page in PdfReader(tmp_path / "all.pdf").pages]
    assert len(pages) == 2
    assert "Cleo" not in "".join(pages)
    run("cards", "-o", "named.pdf", "--names")
    assert "Cleo" in PdfReader(tmp_path / "named.pdf").pages[1].extract_text()
    run("cards", "-o", "small.pdf", "--layout", "small", "--group", "Level 3")
    assert len(PdfReader(tmp_path / "small.pdf").pages) == 1
    with pytest.raises(RefusedInputError, match="nobody here has a card"):
        run("cards", "--group", "Mon")


def test_files_that_cannot_be_used_are_told_by_name(run: Run, tmp_path: Path):
    with pytest.raises(RefusedInputError, match=r"^none\.csv cannot be read"):
        run("preview", "none.csv")
    (tmp_path / "in.csv").write_bytes(b"%PDF-1.7")
    with pytest.raises(RefusedInputError, match=r"^in\.csv: the file is a PDF"):
        run("import", "in.csv")
    with pytest.raises(WrongUseError, match="not to"):
        run("export", "-o", "out.txt")
    with pytest.raises(RefusedInputError, match=r"^out\.csv cannot be written"):
        run("export", "-o", "none/out.csv")
