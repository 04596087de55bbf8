"""Documentation is a contract: what exists is described, what is described exists."""

import re
from pathlib import Path

import typer.main

from chordline.catalogue.loader import load_catalogue
from chordline.cli.main import app

DOCS = Path(__file__).resolve().parents[2] / "docs"
GLOSSARY = (DOCS / "glossary.md").read_text(encoding="utf-8")
GUIDE = (DOCS / "guide" / "README.md").read_text(encoding="utf-8")
RECORDS = (DOCS / "records.md").read_text(encoding="utf-8")
CATALOGUE = load_catalogue()
COMMANDS = typer.main.get_command(app).commands  # type: ignore[attr-defined]


def test_the_glossary_has_every_measure_and_no_other() -> None:
    named = set(re.findall(r"`(\w+_(?:deg|pct|cm))`", GLOSSARY))
    assert named == {*CATALOGUE.measures, *(n for n in CATALOGUE.capacities if n[-1] in "gt")}


def test_the_glossary_has_every_capacity() -> None:
    assert [name for name in CATALOGUE.capacities if f"`{name}`" not in GLOSSARY] == []


def test_the_guide_has_every_command_and_no_other() -> None:
    table = GUIDE.partition("## Commands")[2]
    assert set(re.findall(r"`chordline ([a-z-]+)", table)) == set(COMMANDS)


def test_the_guide_has_every_option() -> None:
    table = GUIDE.partition("## Commands")[2]
    every = [
        one
        for command in COMMANDS.values()
        for one in (getattr(command, "commands", None) or {"": command}).values()
    ]
    options = {
        option
        for command in every
        for parameter in command.params
        for option in parameter.opts
        if option.startswith("--") and option not in ("--help", "--test", "--output")
    }
    assert {option for option in options if option not in table} == set()


def test_every_flag_is_described() -> None:
    assert [flag for flag in CATALOGUE.referrals if f"`{flag}`" not in RECORDS] == []
