"""`chordline screen`: a folder of photos, filed, measured and printed."""

from collections.abc import Sequence
from functools import partial
from pathlib import Path
from typing import Annotated

import typer

from chordline.adapters.media.measurement_cache import FolderCache, NoCache
from chordline.adapters.media.video_store import FolderVideoStore, NoVideoStore
from chordline.application.findings import Findings
from chordline.application.findings_json import findings_to_json
from chordline.application.judge_folder import judge_folder
from chordline.application.measurement_json import measurement_to_json
from chordline.application.screen_folder import ChooseMany, FolderScreen
from chordline.application.summary import summary_in_words
from chordline.application.video_json import video_to_json
from chordline.application.wording import describe_measurement, headline_of
from chordline.bootstrap import App, build_app
from chordline.cli.console import complain, print_json, progress_bar, remark
from chordline.cli.faces import FacesChoice, FacesOption, read_choice
from chordline.cli.folders import remember_screened
from chordline.cli.sheets import write_sheets
from chordline.cli.video import tell_video
from chordline.errors import WrongUseError

SHEETS = "sheets"


def screen(
    folder: Annotated[Path, typer.Argument(metavar="FOLDER", help="A folder of side-view photos.")],
    as_json: Annotated[bool, typer.Option("--json", help="One JSON object a line.")] = False,
    sheets: Annotated[
        Path | None,
        typer.Option(
            "--sheets", metavar="DIR", help="Where the sheets go; FOLDER/sheets if unset."
        ),
    ] = None,
    no_sheets: Annotated[bool, typer.Option("--no-sheets", help="Measure only.")] = False,
    faces: FacesOption = FacesChoice.HIDDEN,
    fresh: Annotated[
        bool, typer.Option("--fresh", help="Measure again what was measured before.")
    ] = False,
    workers: Annotated[
        int | None,
        typer.Option(
            "--workers",
            metavar="N",
            min=1,
            help="Measure with so many processes; as many as pay if unset.",
        ),
    ] = None,
    cluster: Annotated[
        str | None,
        typer.Option(
            "--cluster", metavar="ADDRESS", help="Measure on a Dask cluster (tcp://HOST:8786)."
        ),
    ] = None,
) -> None:
    """File, measure and print a folder of photos.

    A photo belongs to the gymnast of the card in it, or of its name (13_prone-overhead.jpg), or of
    a line in screen.csv (photo, gymnast, test, near, front, person). Videos among the photos are
    measured too, and how long she held the shape is read off them. gymnasts.csv (card, name,
    birth_date, stature_cm, mass_kg, sitting_height_cm) gives names to cards. What was measured
    before is not measured again: a stopped screening goes on where it was.
    """
    app = build_app()
    if workers is not None and cluster is not None:
        raise WrongUseError("say --workers or --cluster: a cluster has its own workers")
    many = partial(app.measure_many, workers=workers, cluster=cluster)
    result = screen_with_bar(app, folder, fresh=fresh, many=many)
    remember_screened(folder)
    all_found = judge_folder(
        result, screen=folder.resolve().name, find=app.find_limits(), forecast=app.forecast_line
    )
    if as_json:
        for filed in (filed for gymnast in result.gymnasts for filed in gymnast.filed):
            print_json(
                measurement_to_json(filed.measurement)
                if filed.video is None
                else video_to_json(filed.video)
            )
        for found in all_found:
            print_json(findings_to_json(found))
    else:
        tell_screen(app, result, all_found)
    for one in result.left_out:
        complain(f"{one.file}: {one.reason}")
    if not no_sheets and result.gymnasts:
        target = sheets if sheets is not None else folder / SHEETS
        written = write_sheets(
            app,
            result,
            all_found,
            target,
            squad=folder.resolve().name,
            faces=read_choice(faces),
        )
        remark(f"{len(written.sheets)} sheets in {target}; the squad: {written.squad_page}")
    if result.left_out:
        raise typer.Exit(3)


def screen_with_bar(
    app: App, folder: Path, *, fresh: bool = False, many: ChooseMany | None = None
) -> FolderScreen:
    """Measure a folder under a progress bar; Ctrl-C keeps what was measured."""
    contents = app.folders.read(folder)
    use_case = app.screen_folder(many or app.measure_many)
    cache = NoCache() if fresh else FolderCache(folder)
    video_store = NoVideoStore() if fresh else FolderVideoStore(folder)
    try:
        with progress_bar("Measuring") as bar:
            return use_case(contents, cache=cache, progress=bar, video_store=video_store)
    except KeyboardInterrupt:
        complain("Stopped. What was measured is kept; the same command goes on from here.")
        raise typer.Exit(130) from None


def tell_screen(app: App, result: FolderScreen, all_found: Sequence[Findings]) -> None:
    """Write one line a photo, and after each gymnast's photos what they tell together."""
    for one, found in zip(result.gymnasts, all_found, strict=True):
        card = "" if one.gymnast.card is None else f" (card {one.gymnast.card})"
        typer.echo(f"{one.gymnast.name}{card}")
        for filed in one.filed:
            measurement = filed.measurement
            test = app.catalogue.tests[measurement.test]
            lines = describe_measurement(measurement, test=test, catalogue=app.catalogue)
            headline = headline_of(lines, accepted=measurement.trust.accepted)
            typer.echo(f"    {measurement.test:20} {headline}")
            for reason in measurement.trust.reasons:
                typer.echo(f"    {'':20} Look: {reason}")
            if filed.video is not None:
                for told in tell_video(filed.video, app.catalogue):
                    typer.echo(f"    {'':20} {told}")
        typer.echo(f"    {summary_in_words(found)}")
