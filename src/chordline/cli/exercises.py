"""`chordline exercises`: look through the exercises, or read one."""

from typing import Annotated

import typer

from chordline.application.tongue import tongue_of
from chordline.application.training.exercise_json import exercise_to_json
from chordline.application.training.exercise_words import ExerciseWords, put_in_words
from chordline.application.training.find_exercises import ExerciseQuery, find_exercises
from chordline.application.training.words import KINDS, dose_in_words
from chordline.bootstrap import build_app
from chordline.cli.console import print_json, remark
from chordline.errors import WrongUseError


def exercises(
    text: Annotated[
        str | None,
        typer.Argument(metavar="[TEXT]", help="Words to look for, or one exercise's key."),
    ] = None,
    capacity: Annotated[
        str | None,
        typer.Option("--for", metavar="CAPACITY", help="Only what works on it, strongest first."),
    ] = None,
    home: Annotated[
        bool, typer.Option("--home", help="Only what may be done at home without a coach.")
    ] = False,
    as_json: Annotated[bool, typer.Option("--json", help="One object an exercise.")] = False,
) -> None:
    """List the exercises with their doses, or tell everything about one."""
    app = build_app()
    training, catalogue = app.training, app.catalogue
    if capacity is not None and capacity not in catalogue.capacities:
        known = ", ".join(catalogue.capacities)
        raise WrongUseError(f"--for '{capacity}': no capacity is called so; one of {known}")
    if text in training.exercises and capacity is None:
        entry = training.exercises[text]
        if as_json:
            print_json(exercise_to_json(text, entry))
        else:
            typer.echo("\n".join(_tell(put_in_words(text, training, catalogue))))
        return
    query = ExerciseQuery(text=(text or "").strip(), capacity=capacity or "", home=home)
    found = find_exercises(query, training, catalogue)
    if as_json:
        for name, entry in found.items():
            print_json(exercise_to_json(name, entry))
        return
    if not found:
        remark("No exercise fits. Fewer words, or another capacity, find more.")
        return
    wide, tongue, kind = max(map(len, found)), tongue_of("en"), ""
    for name, entry in found.items():
        if entry.kind != kind:
            kind = entry.kind
            typer.echo(KINDS[kind])
        typer.echo(f"    {name:{wide}}  {entry.title}, {dose_in_words(entry.dose, tongue)}")


def _tell(one: ExerciseWords) -> list[str]:
    """Return an exercise as lines for a terminal; the caution stands before how it is done."""
    told = [
        f"{one.title} ({one.kind.lower()})",
        f"  Care: {one.care}",
        f"  Position: {one.position}",
        f"  How: {one.how}",
        f"  Watch: {one.watch}",
        f"  Fault: {one.fault}",
        f"  Dose: {', '.join(filter(None, (one.dose, one.rest)))}; {one.minutes} a turn",
        f"  Needs: {one.equipment}. {one.spotter}. {one.home}.",
        f"  For: {one.age}, {one.level}",
    ]
    told += [f"  Before: {need}" for need in one.needs]
    told += [
        f"  Works on: {fed.label}: {fed.gain} in a week of {one.week} [{fed.rests_on}]"
        for fed in one.feeds
    ]
    told += [f"  Easier: {title} ({name})" for name, title in one.easier.items()]
    told += [f"  Harder: {title} ({name})" for name, title in one.harder.items()]
    return told
