"""`chordline plan`: what a group does in the coming weeks."""

import difflib
import threading
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor, wait
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Annotated, Any

import typer

from chordline.application.club.names import name_key
from chordline.application.club.records import Group
from chordline.application.days import day_in_words
from chordline.application.progress.retest_calendar import days_in_words
from chordline.application.training.members import Member
from chordline.application.training.plan_wish import PlanWish, WishedTurn
from chordline.application.training.records import PlanRecord
from chordline.bootstrap import App
from chordline.catalogue.training_schema import TrainingCatalogue
from chordline.cli.console import BarProgress, complain, print_json, progress_bar, remark
from chordline.cli.group import (
    GroupArgument,
    member_called,
    members_of,
    open_group,
    read_date,
)
from chordline.cli.plan_words import tell_plan
from chordline.cli.take_in import AUTHOR, DataOption
from chordline.errors import RefusedInputError, WrongUseError

#: The word for everybody where a gymnast is named.
EVERYBODY = "all"
#: Steps of the bar.
_STEPS = 100

_TURN_HELP = "GYMNAST is a name, a card number or 'all'; EXERCISE its key or its title."


def plan(
    group: GroupArgument,
    weeks: Annotated[
        int | None, typer.Option("--weeks", help="As before, or 12, if unset.")
    ] = None,
    from_day: Annotated[
        str | None, typer.Option("--from", metavar="DATE", help="First day; today if unset.")
    ] = None,
    pin: Annotated[
        list[str] | None,
        typer.Option(
            "--pin",
            metavar="GYMNAST:EXERCISE[:DATE]",
            help=f"She does it, every week or on a day. {_TURN_HELP}",
        ),
    ] = None,
    exclude: Annotated[
        list[str] | None,
        typer.Option(
            "--exclude", metavar="GYMNAST:EXERCISE[:DATE]", help="She does not do it; likewise."
        ),
    ] = None,
    away: Annotated[
        list[str] | None,
        typer.Option("--away", metavar="GYMNAST:DATE", help="She will not come on a day."),
    ] = None,
    fresh: Annotated[
        bool, typer.Option("--fresh", help="Forget what earlier plans were asked for with.")
    ] = False,
    show: Annotated[
        bool, typer.Option("--show", help="Show the plan that holds instead of making one.")
    ] = False,
    as_json: Annotated[bool, typer.Option("--json", help="One JSON object.")] = False,
    calendar: Annotated[
        Path | None,
        typer.Option("--calendar", metavar="FILE.ics", help="Write the sessions for calendars."),
    ] = None,
    data: DataOption = None,
) -> None:
    """Plan a group's sessions from what limits each gymnast, and show who gets what.

    What earlier plans were asked for with stays unless --fresh is given. Ctrl-C stops; then
    nothing is kept and the plan before holds.
    """
    today = date.today()
    first_day = today if from_day is None else read_date(from_day, "--from")
    with open_group(data, group) as (app, found):
        members = members_of(app, found, today)
        if show:
            made = _holding(app, found, first_day)
        else:
            stood = app.replan().wish(found.id, first_day=first_day, author=AUTHOR, today=today)
            if fresh:
                stood = replace(stood, pins=(), exclusions=(), absences={})
            read = _Reader(members, found, app.training)
            wish = replace(
                stood,
                weeks=stood.weeks if weeks is None else weeks,
                pins=_added(stood.pins, map(read.turn, pin or [])),
                exclusions=_added(stood.exclusions, map(read.turn, exclude or [])),
                absences=read.absences(stood.absences, away or []),
            )
            made = make_with_bar(app, found.id, wish)
        if calendar is not None:
            write_calendar(app, found, calendar, made.first_day)
        if as_json:
            names = {str(one.id): one.gymnast.name for one in members}
            print_json({**made.record, "names": names})
        else:
            tell_plan(made.record, members, app.catalogue, app.training)


def make_with_bar(app: App, group_id: int, wish: PlanWish) -> PlanRecord:
    """Make a plan under a progress bar; Ctrl-C keeps nothing of it."""
    stop = threading.Event()
    make = app.make_plan()
    # The solver does not hear Ctrl-C: it works beside the thread that does.
    with progress_bar("Planning") as bar, ThreadPoolExecutor(1) as pool:
        work = pool.submit(make, group_id, wish, on_progress=_advance(bar), cancelled=stop.is_set)
        try:
            while not work.done():
                wait([work], timeout=0.2)
        except KeyboardInterrupt:
            stop.set()
        made = work.result()
    if made is None:
        complain("Stopped. Nothing of this plan is kept; the one before it holds.")
        raise typer.Exit(130)
    return made


def _advance(bar: BarProgress) -> Callable[[float], None]:
    bar.start(_STEPS)
    done = 0

    def advance(share: float) -> None:
        nonlocal done
        while done < min(share, 1.0) * _STEPS:
            done += 1
            bar.step("")

    return advance


def write_calendar(app: App, group: Group, file: Path, day: date) -> None:
    """Write the sessions of the plan that holds on a day."""
    found = app.squad_progress.everybody(app.club().id, today=day, group_id=group.id)
    content = app.make_calendar()(
        group.id, today=day, retests=days_in_words(found.retests, today=day)
    )
    try:
        file.write_bytes(content)
    except OSError as error:
        raise RefusedInputError(f"{file.name} cannot be written ({error.strerror})") from None
    remark(f"The sessions are in {file.name}; it names nobody.")


def _holding(app: App, group: Group, day: date) -> PlanRecord:
    with app.records.reading() as tx:
        made = tx.training.plan_holding(group.id, day)
    if made is None:
        raise RefusedInputError(
            f"no plan of {group.name} holds on {day_in_words(day)}; "
            "the same command without --show makes one"
        )
    return made


def _added(stood: tuple[WishedTurn, ...], more: Any) -> tuple[WishedTurn, ...]:
    return tuple(dict.fromkeys((*stood, *more)))


class _Reader:
    """Reads what options say of gymnasts, exercises and days."""

    def __init__(
        self, members: Sequence[Member], group: Group, training: TrainingCatalogue
    ) -> None:
        self._members = members
        self._group = group
        self._training = training

    def turn(self, said: str) -> WishedTurn:
        """Return a turn from ``GYMNAST:EXERCISE[:DATE]``."""
        who, _, rest = said.partition(":")
        what, _, day = rest.partition(":")
        if not who or not what:
            raise WrongUseError(f"'{said}': write GYMNAST:EXERCISE or GYMNAST:EXERCISE:DATE")
        everybody = name_key(who) == EVERYBODY
        return WishedTurn(
            exercise=self._exercise(what),
            gymnast=None if everybody else self._gymnast(who),
            day=read_date(day, "the day") if day else None,
        )

    def absences(
        self, stood: Mapping[date, frozenset[int]], said: Sequence[str]
    ) -> dict[date, frozenset[int]]:
        """Return who is away by day, with what ``GYMNAST:DATE`` adds."""
        away = dict(stood)
        for one in said:
            who, _, day = one.rpartition(":")
            if not who:
                raise WrongUseError(f"--away '{one}': write GYMNAST:DATE")
            on = read_date(day, "--away")
            away[on] = away.get(on, frozenset()) | {self._gymnast(who)}
        return away

    def _gymnast(self, said: str) -> int:
        return member_called(said, self._members, self._group).id

    def _exercise(self, said: str) -> str:
        exercises = self._training.exercises
        key = name_key(said)
        if said in exercises:
            return said
        titled = [name for name, one in exercises.items() if name_key(one.title) == key]
        if len(titled) == 1:
            return titled[0]
        words = {name_key(one.title): name for name, one in exercises.items()}
        words |= {name_key(name): name for name in exercises}
        near = difflib.get_close_matches(key, words, n=6, cutoff=0.5)
        parts = [name for word, name in words.items() if key and key in word]
        alike = list(dict.fromkeys([*parts, *(words[one] for one in near)]))
        listed = f"; like it: {', '.join(alike[:8])}" if alike else ""
        raise WrongUseError(f"no exercise is called '{said}'{listed}")
