"""`chordline ladder`: which skills can come, and which can wait."""

from datetime import date
from typing import Annotated

import typer

from chordline.application.training.climb import Climbed, ClimbedRung
from chordline.application.training.climb_json import ladder_to_json
from chordline.application.training.climb_words import (
    WHOSE_THRESHOLDS,
    brief_in_words,
    chance_in_words,
    missing_in_words,
    next_in_words,
    open_in_words,
    said_in_words,
    standing_in_words,
)
from chordline.bootstrap import App, build_app
from chordline.cli.console import print_json, remark
from chordline.cli.group import find_named
from chordline.cli.pick import pick_gymnast
from chordline.cli.take_in import AUTHOR, DataOption
from chordline.errors import WrongUseError

Rungs = Annotated[
    list[str] | None,
    typer.Option("--has", metavar="RUNG", help="Say that she has a rung, since today."),
]
NotYet = Annotated[
    list[str] | None,
    typer.Option("--not-yet", metavar="RUNG", help="Take back that she has a rung."),
]


def ladder(
    gymnast: Annotated[
        str | None, typer.Argument(metavar="[GYMNAST]", help="Card number or name.")
    ] = None,
    group: Annotated[
        str | None, typer.Option("--group", metavar="NAME", help="This group only.")
    ] = None,
    has: Rungs = None,
    not_yet: NotYet = None,
    as_json: Annotated[bool, typer.Option("--json", help="One object a gymnast.")] = False,
    data: DataOption = None,
) -> None:
    """Tell which rungs of the ladder are ready, close or not yet, what is missing, and what next.

    Without GYMNAST: everybody, or a group. All thresholds are the club's own.
    """
    if gymnast is None and (has or not_yet):
        raise WrongUseError("--has and --not-yet need a GYMNAST")
    if gymnast is not None and group is not None:
        raise WrongUseError("name a GYMNAST or a --group, not both")
    if both := set(has or []) & set(not_yet or []):
        raise WrongUseError(f"both --has and --not-yet say '{sorted(both)[0]}'")
    app = build_app(data=data)
    try:
        if gymnast is None:
            _tell_group(app, group, as_json=as_json)
        else:
            _tell_her(app, gymnast, has or [], not_yet or [], as_json=as_json)
    finally:
        app.records.close()


def _tell_her(app: App, wanted: str, has: list[str], not_yet: list[str], *, as_json: bool) -> None:
    use, today = app.her_ladder(), date.today()
    with app.records.reading() as tx:
        her = pick_gymnast(tx, app.club().id, wanted)
        said = [one.rung for one in tx.training.skills([her.id])]
    ladder = list(app.training.rungs)
    unknown = [one for one in has if one not in ladder]
    unknown += [one for one in not_yet if one not in ladder and one not in said]
    if unknown:
        raise WrongUseError(f"no rung is called '{unknown[0]}'; the ladder has {', '.join(ladder)}")
    for rung in has:
        use.say(her.id, rung, reached_on=today, today=today, author=AUTHOR)
    for rung in not_yet:
        use.take_back(her.id, rung)
    climbed = use.of(her.id, today=today)
    if as_json:
        print_json(ladder_to_json(climbed, catalogue=app.catalogue, training=app.training))
    else:
        typer.echo("\n".join(_lines(climbed, app)))
        remark(WHOSE_THRESHOLDS)


def _lines(climbed: Climbed, app: App) -> list[str]:
    catalogue, training = app.catalogue, app.training
    card = "" if climbed.known.card is None else f" (card {climbed.known.card})"
    told = [f"{climbed.known.name}{card}"]
    for sign in climbed.known.signs:
        referral = catalogue.referrals[sign]
        told.append(f"  Stop: {referral.label}. {referral.advice}")
    told.append(f"  {next_in_words(climbed)}")
    for one in climbed.rungs:
        told.append(f"  {one.entry.title} [{one.id}]: {standing_in_words(one, catalogue)}")
        said = said_in_words(one, training)
        missing = missing_in_words(one, climbed, catalogue=catalogue, training=training)
        chance = chance_in_words(one, catalogue) if one.standing not in ("had", "barred") else ""
        for line in (said, *missing, *open_in_words(one, catalogue), chance, _meanwhile(one, app)):
            if line:
                told.append(f"      {line}")
    return told


def _meanwhile(one: ClimbedRung, app: App) -> str:
    titles = [app.training.exercises[id].title for id in one.meanwhile]
    return f"Meanwhile: {'; '.join(titles)}." if titles else ""


def _tell_group(app: App, group: str | None, *, as_json: bool) -> None:
    use, club, today = app.her_ladder(), app.club(), date.today()
    with app.records.reading() as tx:
        group_id = None if group is None else find_named(tx, club.id, group).id
    after: str | None = None
    found = 0
    while True:
        page = use.of_club(club.id, today=today, group_id=group_id, after=after)
        found += len(page.rows)
        for climbed in page.rows:
            if as_json:
                print_json(ladder_to_json(climbed, catalogue=app.catalogue, training=app.training))
            else:
                typer.echo("\n".join(_brief_lines(climbed, app)))
        if page.next is None:
            break
        after = page.next
    if not found:
        remark("nobody is here yet; 'chordline roster import FILE' takes gymnasts in")
    elif not as_json:
        remark(WHOSE_THRESHOLDS)


def _brief_lines(climbed: Climbed, app: App) -> list[str]:
    told = [climbed.known.name, f"    {next_in_words(climbed)}"]
    for one in climbed.rungs:
        brief = brief_in_words(one, catalogue=app.catalogue, training=app.training)
        word = standing_in_words(one, app.catalogue)
        more = f" ({brief})" if brief and one.standing != "barred" else ""
        told.append(f"    {one.entry.title:42} {word}{more}")
    return told
