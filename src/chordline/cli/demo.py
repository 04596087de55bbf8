"""`chordline demo`: an invented club, measured from nothing."""

import csv
import shutil
from dataclasses import replace
from datetime import date, timedelta
from importlib import resources
from pathlib import Path
from typing import Annotated

import typer

from chordline.adapters.tables.table_file import TableFileReader
from chordline.application.club.latest_screens import LatestScreens, read_latest_screens
from chordline.application.club.records import BodySize
from chordline.application.days import days_in_words
from chordline.application.roster.in_and_out import ImportRoster
from chordline.application.roster.match import all_gymnasts
from chordline.application.summary import summary_in_words
from chordline.bootstrap import App, build_app
from chordline.cli.console import complain
from chordline.cli.demo_earlier import add_earlier_screens
from chordline.cli.plan import make_with_bar
from chordline.cli.screen import SHEETS, tell_screen
from chordline.cli.sheets import write_sheets
from chordline.cli.take_in import AUTHOR, take_in_with_bar, work_off_with_bar
from chordline.core.planning.problem import Level
from chordline.errors import RefusedInputError

CLUB_NAME = "Demo club"
GROUP = "Demo squad"
#: Invented: all of them have trained for some seasons.
LEVEL: Level = 2
#: One block: a demo must not keep anybody waiting.
WEEKS = 4
ROSTER = "gymnasts.csv"
#: Invented as well: what some of them measured before the day of the demo.
EARLIER_SIZES = "earlier_sizes.csv"
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
    earlier = add_earlier_screens(app)
    if earlier:
        typer.echo(
            f"\n{earlier} of them got an invented earlier screen; 'chordline progress' and the "
            "pages show what changed."
        )
    planned = _plan(app)
    if planned:
        typer.echo(f"\n{planned}")
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
    _measure_earlier(app)


def _measure_earlier(app: App) -> None:
    """Give some gymnasts invented sizes of the year before, where they have none."""
    club, today = app.club(), date.today()
    text = (resources.files("chordline.demo") / EARLIER_SIZES).read_text(encoding="utf-8")
    with app.records.transaction() as tx:
        without: dict[int, bool] = {}
        for row in csv.DictReader(text.splitlines()):
            her = tx.gymnasts.with_card(club.id, int(row["card"]))
            if her is None:
                continue
            if without.setdefault(her.id, len(tx.gymnasts.sizes(her.id)) <= 1):
                size = BodySize(
                    today - timedelta(days=int(row["days_before"])),
                    float(row["stature_cm"]),
                    float(row["mass_kg"]),
                    float(row["sitting_height_cm"]),
                )
                tx.gymnasts.add_size(her.id, size)


def _plan(app: App) -> str:
    """Give the squad a group and a plan where it has none; return a line about the plan."""
    club, today = app.club(), date.today()
    with app.records.transaction() as tx:
        found = next((one for one in tx.clubs.groups(club.id) if one.name == GROUP), None)
        group = found or tx.clubs.add_group(club.id, GROUP)
        ids = [one.gymnast.id for one in all_gymnasts(tx, club.id)]
        tx.clubs.put_in_group(group.id, ids)
        said = tx.training.levels(ids)
        for gymnast_id in ids:
            if gymnast_id not in said:
                tx.training.say_level(gymnast_id, LEVEL)
        plan = tx.training.plan_holding(group.id, today)
    if plan is None:
        wish = app.replan().wish(group.id, first_day=today, author=AUTHOR, today=today)
        try:
            plan = make_with_bar(app, group.id, replace(wish, weeks=WEEKS))
        except RefusedInputError as error:
            complain(str(error))
            return ""
    sessions = len(plan.record["sessions"])
    return f"{GROUP} has a plan of {sessions} sessions; 'chordline plan' and the pages show it."


def _tell(app: App, latest: LatestScreens) -> None:
    for found in latest.found:
        typer.echo(f"{found.gymnast} (card {found.card}). {summary_in_words(found)}")
    typer.echo("")
    tell_screen(app, latest.screens, latest.found)
