"""`chordline demo`: an invented club, measured from nothing."""

import shutil
from datetime import date
from importlib import resources
from pathlib import Path
from typing import Annotated

import typer

from chordline.adapters.tables.table_file import TableFileReader
from chordline.application.club.latest_screens import LatestScreens, read_latest_screens
from chordline.application.days import days_in_words
from chordline.application.roster.in_and_out import ImportRoster
from chordline.application.summary import summary_in_words
from chordline.bootstrap import App, build_app
from chordline.cli.console import complain
from chordline.cli.screen import SHEETS, tell_screen
from chordline.cli.sheets import write_sheets
from chordline.cli.take_in import AUTHOR, take_in_with_bar, work_off_with_bar

CLUB_NAME = "Demo club"
ROSTER = "gymnasts.csv"
#: Where the demo's photos and the club's records lie in its folder.
PHOTOS, CLUB = "photos", "club"


def demo(
    folder: Annotated[Path, typer.Argument(help="Where the demo club is put.")] = Path("demo"),
) -> None:
    """Measure the demo club: six invented gymnasts, eight tests each."""
    photos = _lay_out(folder)
    app = build_app(data=folder / CLUB)
    if app.poses is None:
        complain("The pose weights are missing; 'chordline weights' installs them.")
        raise typer.Exit(3)
    _found_club(app, photos)
    taken = take_in_with_bar(app, photos, day=date.today())
    work_off_with_bar(app)
    with app.records.reading() as tx:
        latest = read_latest_screens(tx, app.club().id, app.judge_screen)
    screened_on = days_in_words(latest.days)
    written = write_sheets(
        app,
        latest.screens,
        latest.found,
        folder / SHEETS,
        squad=CLUB_NAME,
        screened_on=screened_on,
    )
    _tell(app, latest)
    for one in (*taken.left_out, *latest.screens.left_out):
        complain(f"{one.file}: {one.reason}")
    typer.echo(f"\n{len(latest.screens.measurements)} photos measured. Sheets:")
    for path in (written.squad_page, written.squad_paper, *written.sheets):
        typer.echo(f"  {path}")
    typer.echo(f"\nThe pages: chordline serve --data {folder / CLUB}")


def _lay_out(folder: Path) -> Path:
    """Copy the photos out of the package, and return where they lie."""
    photos = folder / PHOTOS
    photos.mkdir(parents=True, exist_ok=True)
    for source in (resources.files("chordline.demo") / "club").iterdir():
        target = photos / source.name
        if not target.exists():
            with resources.as_file(source) as path:
                shutil.copyfile(path, target)
    return photos


def _found_club(app: App, photos: Path) -> None:
    """Give the club its name and its gymnasts; done before, it changes nothing."""
    club = app.club()
    if club.name != CLUB_NAME:
        with app.records.transaction() as tx:
            tx.clubs.rename(club.id, CLUB_NAME)
    ImportRoster(app.records)(
        club.id,
        TableFileReader().read((photos / ROSTER).read_bytes()),
        skip_bad=False,
        token=None,
        today=date.today(),
        author=AUTHOR,
    )


def _tell(app: App, latest: LatestScreens) -> None:
    for found in latest.found:
        typer.echo(f"{found.gymnast} (card {found.card}). {summary_in_words(found)}")
    typer.echo("")
    tell_screen(app, latest.screens, latest.found)
