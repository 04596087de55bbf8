"""A plan as lines for a terminal: who gets what, how good it is, the first week's stations."""

import shutil
from collections.abc import Mapping, Sequence

import typer

from chordline.application.club.records import Json
from chordline.application.days import day_in_words
from chordline.application.findings_words import upper_first
from chordline.application.training.members import Member
from chordline.application.training.plan_words import why_in_words
from chordline.application.training.planned import (
    Evening,
    HerPlan,
    PlannedTurn,
    ReadPlan,
    read_plan,
)
from chordline.application.wording import SD_95
from chordline.catalogue.schema import Catalogue
from chordline.catalogue.training_schema import TrainingCatalogue
from chordline.cli.console import print_table, remark

#: Columns of a terminal in which a table of rounds can be read; below, a list is.
WIDE_ENOUGH = 130


def tell_plan(
    record: Json, members: Sequence[Member], catalogue: Catalogue, training: TrainingCatalogue
) -> None:
    """Write a plan to standard output."""
    plan = read_plan(record)
    names = {one.id: one.gymnast.name for one in members}
    told = {one["gymnast"]: one for one in record["gymnasts"]}
    typer.echo(
        f"{len(plan.evenings)} sessions from {day_in_words(plan.first_day)} "
        f"to {day_in_words(plan.last_day)}"
    )
    typer.echo(goodness_in_words(plan))
    for her in sorted(plan.hers.values(), key=lambda one: names.get(one.gymnast, "")):
        why = why_in_words(told[her.gymnast], plan.weeks, catalogue)
        typer.echo("\n".join(_tell_her(her, why, names, plan, catalogue, training)))
    first = [one for one in plan.evenings if one.week == plan.evenings[0].week]
    for evening in first:
        typer.echo("")
        _tell_evening(evening, plan, names, training)
    if any(not one.level_said for one in members):
        remark(
            "For some nobody said how long they have trained: they get what a beginner may do. "
            "'chordline gym GROUP --level NAME:2' says it."
        )


def goodness_in_words(plan: ReadPlan) -> str:
    """Return how good a plan is against the best that can be."""
    if plan.bound_pct <= 0.0:
        return "Nobody misses anything that the catalogue has work for."
    sure = "no plan does better"
    if plan.gap >= 0.005:
        sure = f"at most {plan.gap:.0%} short of the best plan that these numbers allow"
    if plan.expected is None or not plan.hers:
        return f"{upper_first(sure)}."
    mean, sd = plan.expected.value / len(plan.hers), plan.expected.sd / len(plan.hers)
    return (
        f"Bow expected to go, on average over the group: {mean:.1f} % ± {SD_95 * sd:.1f} % of a "
        f"line's length, by assumed gains; {sure}."
    )


def _tell_her(
    her: HerPlan,
    why: str,
    names: Mapping[int, str],
    plan: ReadPlan,
    catalogue: Catalogue,
    training: TrainingCatalogue,
) -> list[str]:
    told = [names.get(her.gymnast, "somebody")]
    told += [
        f"  {catalogue.referrals[sign].label}: {catalogue.referrals[sign].advice}"
        for sign in her.signs
        if sign in catalogue.referrals
    ]
    told.append(f"  {why}")
    minutes = [
        f"{catalogue.capacities[one.capacity].label} {one.weekly_min:.0f}"
        for one in her.work
        if one.capacity in catalogue.capacities
    ]
    if minutes:
        told.append(f"  Minutes a week: {'; '.join(minutes)}")
    first = plan.evenings[0].week
    exercises = dict.fromkeys(
        turn.exercise
        for evening in plan.evenings
        if evening.week <= first + 1
        for turns in evening.rounds
        for turn in turns
        if her.gymnast in turn.gymnasts
    )
    if exercises:
        titles = "; ".join(title_of(one, training) for one in exercises)
        told.append(f"  To begin with: {titles}")
    if her.too_little:
        groups = "; ".join(
            training.groups[one].label if one in training.groups else one for one in her.too_little
        )
        told.append(f"  Less than the least useful dose: {groups}")
    return told


def _tell_evening(
    evening: Evening, plan: ReadPlan, names: Mapping[int, str], training: TrainingCatalogue
) -> None:
    begins = "" if evening.starts_at is None else f", {evening.starts_at:%H:%M}"
    typer.echo(f"{evening.held_on:%a} {day_in_words(evening.held_on)}{begins}")
    print_rounds([one.name for one in plan.stations], evening.rounds, names, training)


def print_rounds(
    stations: Sequence[str],
    rounds: Sequence[Sequence[PlannedTurn]],
    names: Mapping[int, str],
    training: TrainingCatalogue,
) -> None:
    """Write who works at which station in which round; a station without anybody is left out."""
    if shutil.get_terminal_size().columns < WIDE_ENOUGH:
        for number, turns in enumerate(rounds, 1):
            typer.echo(f"  Round {number}")
            for turn in turns:
                who = listed(turn.gymnasts, names)
                title = title_of(turn.exercise, training)
                typer.echo(f"    {stations[turn.station]}: {title} – {who}")
        return
    rows = []
    for number, station in enumerate(stations):
        cells = [
            "\n\n".join(
                f"{title_of(turn.exercise, training)}\n{listed(turn.gymnasts, names)}"
                for turn in turns
                if turn.station == number
            )
            for turns in rounds
        ]
        if any(cells):
            rows.append((station, *cells))
    print_table(("station", *(f"round {number + 1}" for number in range(len(rounds)))), rows)


def title_of(exercise: str, training: TrainingCatalogue) -> str:
    """Return an exercise's title, its key where the catalogue has it no more."""
    entry = training.exercises.get(exercise)
    return exercise if entry is None else entry.title


def listed(ids: Sequence[int], names: Mapping[int, str]) -> str:
    """Return the names of gymnasts."""
    return ", ".join(names.get(one, "somebody") for one in ids)
