"""`chordline take-in`: a folder of photos and videos into the club's records."""

import os
from datetime import date
from pathlib import Path
from typing import Annotated

import typer

from chordline.application.club.take_in_folder import TakenIn
from chordline.application.club.video_records import VideoRecord
from chordline.bootstrap import App, build_app
from chordline.cli.console import complain, progress_bar, remark
from chordline.errors import WrongUseError

#: Who does what a command does, where nobody is logged in.
AUTHOR = "command line"

DataOption = Annotated[
    Path | None,
    typer.Option("--data", metavar="DIR", help="Folder of the club's records and pictures."),
]


def take_in(
    folder: Annotated[
        Path, typer.Argument(metavar="FOLDER", help="A folder of side-view photos and videos.")
    ],
    day: Annotated[
        str | None,
        typer.Option("--day", metavar="YYYY-MM-DD", help="Day of the screen; today if unset."),
    ] = None,
    test: Annotated[
        str | None, typer.Option("--test", metavar="ID", help="What all photos are of.")
    ] = None,
    data: DataOption = None,
) -> None:
    """Take a folder of photos and videos into the club's records, file and measure them.

    A photo is filed by its card or name. A video is too, and measured whole where its gymnast and
    its test are known; else it waits for the coach, as one that is too long does.

    The pages of 'chordline serve' show the same records. screen.csv, marks files, holds.csv and
    flags.csv are read as by 'chordline screen'; who trains here, the roster says
    ('chordline roster import'). A photo that is there already is not taken twice; stopped at any
    moment, the same command goes on.
    """
    app = build_app(data=data)
    taken = take_in_with_bar(app, folder, day=_day(day), test=test)
    for one in taken.left_out:
        complain(f"{one.file}: {one.reason}")
    there = len(taken.photos) - taken.new
    remark(f"{taken.new} photos taken in, {there} were there already.")
    if taken.videos:
        there = len(taken.videos) - taken.new_videos
        remark(f"{taken.new_videos} videos taken in, {there} were there already.")
    for video in (one.video for one in taken.videos if one.video.state == "arrived"):
        remark(f"Waits for you: {video.name}: {_why_waits(video)}")
    work_off_with_bar(app)
    if taken.left_out:
        raise typer.Exit(3)


def _why_waits(video: VideoRecord) -> str:
    if video.reason is not None:
        return video.reason
    return "choose the test" if video.said.test is None else "choose whose video it is"


def _day(said: str | None) -> date:
    if said is None:
        return date.today()
    try:
        return date.fromisoformat(said)
    except ValueError:
        raise WrongUseError(f"'{said}' is no day; write it as 2026-11-25") from None


def take_in_with_bar(app: App, folder: Path, *, day: date, test: str | None = None) -> TakenIn:
    """Take a folder in under a progress bar; Ctrl-C keeps what was taken."""
    contents = app.folders.read(folder)
    try:
        with progress_bar("Taking in") as bar:
            return app.take_in_folder()(
                app.club().id,
                contents,
                day=day,
                today=date.today(),
                author=AUTHOR,
                test=test,
                progress=bar,
            )
    except KeyboardInterrupt:
        complain("Stopped. What was taken in is kept; the same command goes on from here.")
        raise typer.Exit(130) from None


def work_off_with_bar(app: App) -> None:
    """Measure what waits under a progress bar, and say what needs a look."""
    club = app.club()
    with app.records.transaction() as tx:
        waiting = tx.jobs.counts(club.id)["waiting"]
    if waiting == 0:
        return
    work = app.work_off()
    looks: list[str] = []
    try:
        with progress_bar("Measuring") as bar:
            bar.start(waiting)
            while (done := work(f"command line {os.getpid()}")) is not None:
                one = done.photo or done.video
                if one is not None and one.reason is not None:
                    looks.append(f"{one.name}: {one.reason}")
                bar.step("" if one is None else one.name)
    except KeyboardInterrupt:
        complain("Stopped. What waits is measured by the same command, or by 'chordline serve'.")
        raise typer.Exit(130) from None
    for look in looks:
        remark(f"Needs a look: {look}")
