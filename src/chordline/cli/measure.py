"""`chordline measure` and `chordline tests`: single photos and videos, and the battery."""

from pathlib import Path
from typing import Annotated

import typer

from chordline.adapters.media.marks_file import read_marks
from chordline.application.marks import HandMarks
from chordline.application.measure_photo import MeasureRequest
from chordline.application.measurement_json import measurement_to_json
from chordline.application.video_json import video_to_json
from chordline.application.video_measurement import VideoMeasurement
from chordline.application.video_ports import Span
from chordline.application.wording import describe_measurement, headline_of, with_unit
from chordline.bootstrap import build_app
from chordline.catalogue.schema import Catalogue
from chordline.cli.choices import FrontChoice, SideChoice, front_of_choice, side_of_choice
from chordline.cli.console import complain, print_json
from chordline.cli.video import find_films, measure_film, tell_video
from chordline.core.body.measurement import Measurement
from chordline.errors import BodyNotFoundError, RefusedInputError, WrongUseError


def measure(
    photos: Annotated[
        list[Path], typer.Argument(metavar="PHOTO...", help="Side-view photos or videos.")
    ],
    test: Annotated[
        str, typer.Option("--test", metavar="ID", help="Which test; 'chordline tests' lists them.")
    ],
    marks: Annotated[
        Path | None,
        typer.Option("--marks", metavar="FILE", help="Landmarks set by hand, one object a photo."),
    ] = None,
    front: Annotated[
        FrontChoice | None, typer.Option("--front", help="To where her belly faces in the picture.")
    ] = None,
    near: Annotated[
        SideChoice | None, typer.Option("--near", help="Her side that is nearer to the phone.")
    ] = None,
    person: Annotated[
        int | None,
        typer.Option("--person", min=1, help="Which of several people; 1 is the leftmost."),
    ] = None,
    from_s: Annotated[
        float | None,
        typer.Option("--from", metavar="S", min=0.0, help="Second at which a video is begun."),
    ] = None,
    to_s: Annotated[
        float | None,
        typer.Option("--to", metavar="S", min=0.0, help="Second at which a video is ended."),
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="One JSON object a photo.")] = False,
) -> None:
    """Measure the body line in photos or videos of one test."""
    app = build_app()
    span = Span(from_s, to_s)
    films = find_films(photos, span)
    entries = _marks_for(photos, marks, app.catalogue)
    use_case = app.measure_photo()
    use_case.test_named(test)
    refused = False
    for photo, entry in zip(photos, entries, strict=True):
        request = MeasureRequest(
            test=test,
            marks=entry,
            near_side=side_of_choice(near),
            front=front_of_choice(front),
            person=person,
        )
        try:
            video = measure_film(app, photo, request, span) if photo in films else None
            measurement = use_case(photo, request) if video is None else video.measurement
        except BodyNotFoundError as error:
            complain(f"{error} (--person says which of several, --marks names a file of marks)")
            refused = True
            continue
        except RefusedInputError as error:
            complain(str(error))
            refused = True
            continue
        if as_json:
            print_json(measurement_to_json(measurement) if video is None else video_to_json(video))
        else:
            typer.echo("\n".join(tell_measurement(measurement, app.catalogue, video)))
    if refused:
        raise typer.Exit(3)


def _marks_for(
    photos: list[Path], path: Path | None, catalogue: Catalogue
) -> tuple[HandMarks | None, ...]:
    if path is None:
        return (None,) * len(photos)
    marks = read_marks(path, default_sd_px=catalogue.setting("hand_mark_sd_px"))
    if len(marks) != len(photos):
        raise WrongUseError(
            f"{path.name} holds marks for {len(marks)} photos, but {len(photos)} were named; "
            "give one object a photo, in the same order"
        )
    return marks


def tell_measurement(
    measurement: Measurement, catalogue: Catalogue, video: VideoMeasurement | None = None
) -> list[str]:
    """Return what a photo or video showed, as lines for a terminal: words, then numbers."""
    test = catalogue.tests[measurement.test]
    lines = describe_measurement(measurement, test=test, catalogue=catalogue)
    headline = headline_of(lines, accepted=measurement.trust.accepted)
    told = [f"{measurement.photo}  {test.title}: {headline}"]
    told += [
        f"    {line.label}: {line.words}"
        + (f" ({line.verdict.value})" if line.verdict else "")
        + f"  {'−' if line.value < 0 else '+'}{with_unit(line.value, line.unit)}"
        f" ± {with_unit(line.plus_minus, line.unit)}"
        for line in lines
    ]
    told += [f"    Look: {reason}" for reason in measurement.trust.reasons]
    if video is not None:
        return told + [f"    {line}" for line in tell_video(video, catalogue)]
    told += [f"    Note: {caution}" for caution in measurement.cautions]
    return told


def list_tests() -> None:
    """List the tests of the battery with their ids."""
    for name, test in build_app().catalogue.tests.items():
        typer.echo(f"{name:21} {test.title}. {test.reads}")
