"""`chordline repeatability`: how much of a difference is nothing in this club."""

from typing import Annotated

import typer

from chordline.application.repeatability.study_json import known_to_json
from chordline.application.repeatability.study_words import (
    abstained_in_words,
    error_in_words,
    measure_in_words,
    progress_in_words,
    take_in_words,
    takes_wanted,
)
from chordline.application.repeatability.takes import FIRST_TEST
from chordline.application.repeatability.use_noise import Known
from chordline.bootstrap import App, build_app
from chordline.cli.console import print_json, remark
from chordline.cli.take_in import DataOption
from chordline.core.progress.abstained import Abstained


def repeatability(
    as_json: Annotated[bool, typer.Option("--json", help="One object.")] = False,
    data: DataOption = None,
) -> None:
    """Tell how well the club measures: marks, takes, and the errors that are in use."""
    app = build_app(data=data)
    try:
        club, use = app.club(), app.use_noise()
        known = use.tell_latest(club.id)
        if as_json:
            print_json(known_to_json(known))
            return
        typer.echo("\n".join([*_marks(known), *_takes(known), *_errors(app, known)]))
        if known.results is None:
            remark("a study of marks is begun in the browser: 'chordline serve', Settings")
    finally:
        app.records.close()


def _marks(known: Known) -> list[str]:
    lines = ["Marks"]
    if known.results is None:
        return [*lines, "  no study of marks says anything yet"]
    lines += [f"  {one.coach}: {progress_in_words(one)}" for one in known.results.coaches]
    for one in known.results.measures:
        if isinstance(one.sources, Abstained):
            lines.append(f"  {one.label}: {abstained_in_words(one.sources)}")
            continue
        lines.append(f"  {one.label} [{one.name}], {one.sources.subjects} photos")
        lines += [f"    {said}" for said in measure_in_words(one)]
    return lines


def _takes(known: Known) -> list[str]:
    lines = ["Takes"]
    for one in known.takes:
        if one.pairs:
            lines.append(f"  {one.title}: {one.pairs} taken twice")
            lines += [f"    {each.label}: {take_in_words(each)}" for each in one.measures]
    return [*lines, f"  {takes_wanted(known.takes, first=FIRST_TEST)}"]


def _errors(app: App, known: Known) -> list[str]:
    titles = {name: test.title for name, test in app.catalogue.tests.items()}
    used = "our defaults" if known.in_use is None else f"the club's own ({known.in_use.author})"
    lines = [f"Errors in use: {used}"]
    lines += [
        f"  {titles.get(one.test, '')}{': ' if one.test else ''}{one.label}: {error_in_words(one)}"
        for one in known.proposed.errors
    ]
    return lines
