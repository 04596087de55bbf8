"""`chordline growth`: where stature stands, how fast it grows, and what to bear in mind."""

from datetime import date
from typing import Annotated

import typer

from chordline.application.growth.growth_json import growth_to_json
from chordline.application.growth.growth_words import (
    NO_JUDGEMENT,
    cautions_in_words,
    chance_in_words,
    check_in_words,
    source_in_words,
    speed_in_figures,
    speed_in_words,
    stature_in_words,
    z_in_figures,
)
from chordline.application.growth.maturity_words import (
    MATURITY_BRIEF,
    MATURITY_WARNING,
    maturity_in_words,
    offsets_in_figures,
)
from chordline.application.growth.told import Growth
from chordline.application.roster.match import all_gymnasts
from chordline.bootstrap import App, build_app
from chordline.cli.console import print_json, remark
from chordline.cli.pick import pick_gymnast
from chordline.cli.take_in import DataOption
from chordline.core.progress.growth_maturity import Maturity


def growth(
    gymnast: Annotated[
        str | None, typer.Argument(metavar="[GYMNAST]", help="Card number or name.")
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="One object a gymnast.")] = False,
    data: DataOption = None,
) -> None:
    """Tell growth: stature among children of her age, its speed, and the fastest growth.

    Without GYMNAST: everybody. No child's size is judged, and no weight is compared.
    """
    app = build_app(data=data)
    try:
        club, tell, today = app.club(), app.tell_growth(), date.today()
        with app.records.reading() as tx:
            if gymnast is not None:
                ids = [pick_gymnast(tx, club.id, gymnast).id]
            else:
                ids = [row.gymnast.id for row in all_gymnasts(tx, club.id)]
        for gymnast_id in ids:
            told = tell(gymnast_id, day=today)
            if as_json:
                print_json(growth_to_json(told))
            else:
                typer.echo("\n".join(_lines(told, app)))
        if not ids:
            remark("nobody is here yet; 'chordline roster import FILE' takes gymnasts in")
        elif not as_json:
            remark(f"Fastest growth: {MATURITY_WARNING}")
            remark(NO_JUDGEMENT)
    finally:
        app.records.close()


def _lines(told: Growth, app: App) -> list[str]:
    card = "" if told.card is None else f" (card {told.card})"
    lines = [f"{told.name}{card}"]
    lines += [f"  {check_in_words(one)}" for one in told.checks if one.contradicts]
    lines.append(f"  {_with(stature_in_words(told), z_in_figures(told))}")
    speed = _with(speed_in_words(told), speed_in_figures(told))
    if told.points:
        lines.append(f"  {speed}")
    if chance := chance_in_words(told):
        lines.append(f"  {chance}")
    if isinstance(told.maturity, Maturity):
        lines.append(f"  {maturity_in_words(told)}")
        lines += [f"      {one}" for one in offsets_in_figures(told, app.growth)]
        if told.maturity.offsets:
            lines.append(f"      {MATURITY_BRIEF}")
    lines += [f"  {check_in_words(one)}" for one in told.checks if not one.contradicts]
    lines += [
        f"  Care: {said} [{source_in_words(source)}]" for said, source in cautions_in_words(told)
    ]
    return lines


def _with(words: str, figures: str) -> str:
    return f"{words} [{figures}]" if figures else words
