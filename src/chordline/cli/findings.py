"""`chordline findings` and `chordline squad`: what limits her, and the whole group at a glance."""

import shutil
from dataclasses import replace
from pathlib import Path
from typing import Annotated

import typer

from chordline.application.findings import CapacityFinding, Findings
from chordline.application.findings_json import findings_to_json
from chordline.application.findings_words import amount_sd, lower_first
from chordline.application.forecast.forecast_line import GAINS, MOST_GAIN
from chordline.application.judge_folder import judge_folder, judge_gymnast, pick_gymnast
from chordline.application.sheet_forecast import (
    forecast_for_sheet,
    gains_in_words,
    handstand_among,
)
from chordline.application.summary import NO_LIMITER, percent_in_words, sureness_in_words
from chordline.bootstrap import App, build_app
from chordline.cli.console import print_json, print_table, remark
from chordline.cli.folders import screened_folder
from chordline.cli.screen import screen_with_bar
from chordline.core.body.measurement import Measurement
from chordline.errors import WrongUseError

FolderOption = Annotated[
    Path | None,
    typer.Option("--folder", metavar="DIR", help="Folder of photos; the last screened if unset."),
]


def findings(
    gymnast: Annotated[str, typer.Argument(metavar="GYMNAST", help="Card number or name.")],
    folder: FolderOption = None,
    full: Annotated[
        bool, typer.Option("--full", help="List every test left, not only the next best.")
    ] = False,
    gain: Annotated[
        list[str] | None,
        typer.Option(
            "--gain",
            metavar="NAME=AMOUNT",
            help="Forecast as if a capacity had gained, e.g. shoulder_flexion_deg=10.",
        ),
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="One JSON object.")] = False,
) -> None:
    """Tell what limits one gymnast, why, how sure that is, and which test would tell most.

    With it: the straightest handstand that her range allows today, and what would straighten it
    most.
    """
    gains = _gains(gain or [])
    app = build_app()
    where = screened_folder(folder)
    result = screen_with_bar(app, where)
    one = pick_gymnast(result.gymnasts, gymnast)
    found = judge_gymnast(one, screen=where.resolve().name, find=app.find_limits())
    found = replace(found, forecast=app.forecast_line(found, gains=gains))
    if as_json:
        print_json(findings_to_json(found))
    else:
        typer.echo("\n".join(tell_findings(found, full=full)))
        photo = handstand_among(filed.measurement for filed in one.filed)
        typer.echo("\n".join(_tell_forecast(found, app, gains, photo)))
        for left in result.left_out:
            if left.owner == one.gymnast.name:
                remark(f"{left.file}: {left.reason}")


def _gains(said: list[str]) -> dict[str, float]:
    """Return what `--gain` says, by capacity."""
    gains = {}
    for one in said:
        name, equals, amount = one.partition("=")
        known = ", ".join(GAINS)
        if not equals or name not in GAINS:
            raise WrongUseError(f"--gain '{one}': write NAME=AMOUNT with NAME one of {known}")
        try:
            gains[name] = float(amount)
        except ValueError:
            raise WrongUseError(f"--gain '{one}': '{amount}' is no number") from None
        if not abs(gains[name]) <= MOST_GAIN:
            raise WrongUseError(f"--gain '{one}': at most {MOST_GAIN:g} either way")
    return gains


def _tell_forecast(
    found: Findings, app: App, gains: dict[str, float], photo: Measurement | None
) -> list[str]:
    """Return the forecast as lines for a terminal; what a photo shows holds only for today."""
    told = forecast_for_sheet(found, app.catalogue, photo=None if gains else photo)
    if told is None:
        return []
    asked = f", {lower_first(gains_in_words(gains, app.catalogue))}" if gains else ""
    words = (told.missing, told.headline, told.posture, told.chances, told.gap, *told.stance)
    lines = [one for one in (*words, told.gain) if one]
    lines += [f"Bow taken off {one}." for one in told.payoffs]
    return [
        f"  On the hands, as far as range allows{asked}:",
        *(f"      {one}" for one in (*lines, told.range_only)),
    ]


#: Columns of a terminal in which a table of all capacities can be read; below, a list is.
WIDE_ENOUGH = 180


def squad(folder: FolderOption = None) -> None:
    """Show every gymnast and capacity of a screened folder, in words and ±."""
    app = build_app()
    where = screened_folder(folder)
    result = screen_with_bar(app, where)
    all_found = judge_folder(result, screen=where.resolve().name, find=app.find_limits())
    if shutil.get_terminal_size().columns >= WIDE_ENOUGH:
        columns = ["", *(entry.label for entry in app.catalogue.capacities.values())]
        print_table(columns, [[one.gymnast, *map(_cell, one.capacities)] for one in all_found])
        return
    for one in all_found:
        typer.echo(one.gymnast)
        for capacity in one.capacities:
            typer.echo(f"    {capacity.label:22} {_one_line(capacity)}")


def _cell(one: CapacityFinding) -> str:
    if not one.tested:
        return "not tested yet"
    return f"{one.verdict.value}\n{one.words} ± {amount_sd(one.name, one.mean, one.sd)}"


def tell_findings(found: Findings, *, full: bool = False) -> list[str]:
    """Return findings as lines for a terminal."""
    card = "" if found.card is None else f" (card {found.card})"
    told = [f"{found.gymnast}{card}"]
    told += [f"  Stop: {stop.label}. {stop.advice}" for stop in found.stops]
    told += [f"  Note: {caution}" for caution in found.cautions]
    if not found.limiters:
        told.append(f"  {NO_LIMITER}")
    for one in found.limiters:
        sure = f"{sureness_in_words(one.p)}, {percent_in_words(one.p)}"
        told.append(f"  {one.label}: {one.words} ({sure})")
        told += [f"      because {reason.sentence} [{reason.source}]" for reason in one.reasons]
        told.append(f"      work: {one.work}")
    told += [f"  Open: {one.sentence}" for one in found.undecided]
    told += [f"  Seen: {sentence}" for _, sentence in found.compensations]
    told += [f"  Put aside: {one.test} {one.measure}: {one.why}" for one in found.faults]
    told += [f"  Needs a look: {line}" for line in found.not_used]
    if full:
        told.append("  Tests left, most telling a minute first:")
        told += [f"      {offer.sentence}" for offer in found.more_tests]
    elif found.next_test is not None:
        told.append(f"  Next: {found.next_test.sentence}")
    else:
        told.append("  Next: no further test is worth its time today.")
    told.append("  All capacities:")
    told += [f"      {one.label:20} {_one_line(one)}" for one in found.capacities]
    return told


def _one_line(one: CapacityFinding) -> str:
    return _cell(one).replace("\n", ": ")
