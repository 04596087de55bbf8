"""`chordline demo`: an invented club, measured from nothing."""

import shutil
from importlib import resources
from pathlib import Path
from typing import Annotated

import typer

from chordline.bootstrap import build_app
from chordline.cli.console import complain
from chordline.cli.screen import SHEETS, screen_with_bar, tell_screen
from chordline.cli.sheets import write_sheets


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
    tell_screen(app, result)
    for one in result.left_out:
        complain(f"{one.file}: {one.reason}")
    written = write_sheets(app, result, folder / SHEETS)
    typer.echo(f"\n{len(result.measurements)} photos measured. Sheets:")
    for path in written:
        typer.echo(f"  {path}")
