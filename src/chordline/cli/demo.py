"""`chordline demo`: an invented club, measured from nothing."""

import shutil
from importlib import resources
from pathlib import Path
from typing import Annotated

import typer

from chordline.application.judge_folder import judge_folder
from chordline.application.summary import summary_in_words
from chordline.bootstrap import build_app
from chordline.cli.console import complain
from chordline.cli.screen import SHEETS, screen_with_bar, tell_screen
from chordline.cli.sheets import write_sheets

SQUAD_NAME = "Demo club"


def demo(
    folder: Annotated[Path, typer.Argument(help="Where the demo club is put.")] = Path("demo"),
) -> None:
    """Measure the demo club: six invented gymnasts, eight tests each."""
    club = resources.files("chordline.demo") / "club"
    photos = folder / "photos"
    photos.mkdir(parents=True, exist_ok=True)
    for source in club.iterdir():
        target = photos / source.name
        if not target.exists():
            with resources.as_file(source) as path:
                shutil.copyfile(path, target)
    app = build_app()
    if app.poses is None:
        complain("The pose weights are missing; 'chordline weights' installs them.")
        raise typer.Exit(3)
    result = screen_with_bar(app, photos)
    all_found = judge_folder(result, screen=SQUAD_NAME, find=app.find_limits())
    written = write_sheets(app, result, all_found, folder / SHEETS, squad=SQUAD_NAME)
    for found in all_found:
        typer.echo(f"{found.gymnast} (card {found.card}). {summary_in_words(found)}")
    typer.echo(f"\nThe squad at a glance: {written.squad_page}\n")
    tell_screen(app, result, all_found)
    for one in result.left_out:
        complain(f"{one.file}: {one.reason}")
    typer.echo(f"\n{len(result.measurements)} photos measured. Sheets:")
    for path in (written.squad_page, written.squad_paper, *written.sheets):
        typer.echo(f"  {path}")
