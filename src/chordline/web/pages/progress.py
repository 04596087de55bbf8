"""Progress: one gymnast through her screens, and who of the squad moved."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import Annotated
from urllib.parse import urlencode

from fastapi import APIRouter, Query, Request
from starlette.responses import HTMLResponse, Response

from chordline.application.club.consent import allowed_on
from chordline.application.club.records import Group
from chordline.application.days import day_in_words
from chordline.application.findings_words import lower_first
from chordline.application.progress.pair import choose_pair, photographed, read_pair
from chordline.application.progress.progress_words import (
    NOT_WHY,
    MeasuredLine,
    change_in_words,
    done_in_words,
    due_in_words,
    measured_in_words,
    note_in_words,
    standing_in_words,
    threshold_in_words,
    why_in_words,
)
from chordline.application.progress.squad_progress import SquadLine
from chordline.application.progress.told import HerRetest, Progress, Since, Standing
from chordline.application.tongue import tongue_of
from chordline.catalogue.schema import Catalogue
from chordline.catalogue.tongues import Language
from chordline.web.access_offers import sees_pictures_of
from chordline.web.desk import AtDesk, Desk
from chordline.web.her_progress import show_capacity, show_pair
from chordline.web.ids import PathId, QueryId, read_id
from chordline.web.pages.sheets import FacesAsked, disposition, read_faces
from chordline.web.rendering import render

router = APIRouter()

#: So many gymnasts stand on one page.
_ROWS = 50


@dataclass(frozen=True)
class RetestShown:
    """A re-test in words."""

    gymnast_id: int
    name: str
    due: str
    why: str
    is_due: bool


@dataclass(frozen=True)
class MovedShown:
    """A real change of one capacity, in words, with the work done on it between."""

    label: str
    change: str
    answer: str
    done: str


@dataclass(frozen=True)
class LineShown:
    """One gymnast of the squad.

    Attributes
    ----------
    line : SquadLine
    screens : str
        How many count, and from when to when.
    moved : tuple of MovedShown
        Real changes since the screen before.
    since_first : str
        What moved since the first screen beyond that; may be empty.
    same : str
        Where no change worth knowing was found; may be empty.
    unknown : str
        What is said where nothing moved for sure; may be empty.
    done : str
        Work since her latest screen; may be empty.
    """

    line: SquadLine
    screens: str
    moved: tuple[MovedShown, ...]
    since_first: str
    same: str
    unknown: str
    done: str


@router.get("/gymnasts/{gymnast_id}/progress")
def show_hers(
    request: Request,
    desk: AtDesk,
    gymnast_id: PathId,
    *,
    test: Annotated[str, Query(max_length=60)] = "",
    before: QueryId = None,
    after: QueryId = None,
) -> HTMLResponse:
    """Show a gymnast's progress."""
    app, today = desk.app, desk.today()
    catalogue, numbers = app.catalogue, app.her_progress.numbers
    progress = app.her_progress(gymnast_id, today=today)
    choice = choose_pair(
        progress.screens, catalogue, test=test or None, before_id=before, after_id=after
    )
    pair = None
    if choice is not None:
        with app.records.reading() as tx:
            photos = read_pair(tx, choice, catalogue)
            with_pictures = sees_pictures_of(request, tx, gymnast_id)
        if photos is not None:
            pair = show_pair(choice, photos, catalogue, with_pictures=with_pictures)
    retest = progress.retest
    capacities = [show_capacity(one, catalogue) for one in progress.capacities]
    return render(
        request,
        "her_progress.html",
        here="squad",
        her=progress.gymnast,
        progress=progress,
        note=note_in_words(progress),
        capacities=capacities,
        real=[(one.label, since) for one in capacities for since in one.real],
        none=_listed([one.label for one in capacities if one.is_same]),
        open=_listed([one.label for one in capacities if one.is_open]),
        pair=pair,
        may_show=allowed_on(progress.gymnast.consent, today, desk.app.consent_rules).show_to_squad,
        pair_tests=[]
        if choice is None
        else [(one, catalogue.tests[one].title) for one in choice.tests],
        pair_screens=[one for one in progress.screens if photographed(one)],
        tables=_tables(progress, catalogue),
        done=done_in_words(progress.done_min, catalogue),
        retest=None if retest is None else _retest(retest, today, catalogue),
        threshold=threshold_in_words(numbers.changes.sure),
        not_why=NOT_WHY,
    )


@router.get("/gymnasts/{gymnast_id}/progress.pdf")
def print_hers(
    desk: AtDesk,
    gymnast_id: PathId,
    *,
    language: Language = "en",
    test: Annotated[str, Query(max_length=60)] = "",
    before: QueryId = None,
    after: QueryId = None,
    faces: FacesAsked = "",
) -> Response:
    """Print what changed, with the pictures that are asked for."""
    today = desk.today()
    with desk.app.records.reading() as tx:
        name = tx.gymnasts.get(gymnast_id).name
    content = desk.app.print_progress(
        gymnast_id,
        day=today,
        tongue=tongue_of(language),
        test=test or None,
        screens=(before, after),
        faces=read_faces(faces),
    )
    return Response(
        content,
        media_type="application/pdf",
        headers={"Content-Disposition": disposition(f"{name} progress {today}.pdf")},
    )


def _tables(progress: Progress, catalogue: Catalogue) -> list[tuple[str, tuple[MeasuredLine, ...]]]:
    """Return the raw changes since the screen before and, where it is another, the first one."""
    screens = progress.screens
    told = [(screens[-2], progress.measured_last)] if len(screens) > 1 else []
    if len(screens) > 2:
        told.append((screens[0], progress.measured_first))
    return [
        (f"Since {day_in_words(one.day)}", measured_in_words(changes, catalogue))
        for one, changes in told
    ]


@router.get("/progress")
def show_squad(
    request: Request,
    desk: AtDesk,
    group: Annotated[str, Query(max_length=12)] = "",
    after: Annotated[str | None, Query(max_length=600)] = None,
) -> HTMLResponse:
    """Show who moved, by name, with the work done beside it, and the re-tests that are due."""
    app, today, catalogue = desk.app, desk.today(), desk.app.catalogue
    group_id = read_id(group)
    found = app.squad_progress(
        desk.club.id, today=today, group_id=group_id, after=after or None, limit=_ROWS
    )
    groups = _groups(desk)
    asked = {"group": group_id, "after": found.next}
    return render(
        request,
        "progress.html",
        here="squad",
        groups=groups,
        group=next((one for one in groups if one.id == group_id), None),
        lines=[_line(one, catalogue) for one in found.lines],
        retests=[_retest(one, today, catalogue) for one in found.retests],
        unscreened=[one.gymnast for one in found.lines if not one.screened],
        total=found.total,
        later=after is not None,
        following=None if found.next is None else "/progress?" + _query(asked),
        calendar="/progress/retests.ics" + (f"?group={group_id}" if group_id else ""),
        threshold=threshold_in_words(app.her_progress.numbers.changes.sure),
        not_why=NOT_WHY,
    )


@router.get("/progress/retests.ics")
def calendar(desk: AtDesk, group: Annotated[str, Query(max_length=12)] = "") -> Response:
    """Give the days of re-tests as a calendar that names nobody."""
    group_id, today = read_id(group), desk.today()
    found = desk.app.squad_progress.everybody(desk.club.id, today=today, group_id=group_id)
    named = next((one.name for one in _groups(desk) if one.id == group_id), desk.club.name)
    written_at = datetime(today.year, today.month, today.day, tzinfo=UTC)
    content = desk.app.retest_calendar()(named, found.retests, today=today, written_at=written_at)
    return Response(
        content,
        media_type="text/calendar",
        headers={"Content-Disposition": disposition(f"Re-tests {named}.ics")},
    )


def _groups(desk: Desk) -> tuple[Group, ...]:
    with desk.app.records.reading() as tx:
        return tx.clubs.groups(desk.club.id)


def _query(asked: Mapping[str, object]) -> str:
    return urlencode({key: value for key, value in asked.items() if value})


def _retest(retest: HerRetest, today: date, catalogue: Catalogue) -> RetestShown:
    return RetestShown(
        gymnast_id=retest.gymnast.id,
        name=retest.gymnast.name,
        due=due_in_words(retest, today),
        why=why_in_words(retest, catalogue),
        is_due=retest.is_due(today),
    )


def _line(one: SquadLine, catalogue: Catalogue) -> LineShown:
    def labels(changes: tuple[Since, ...], *standings: Standing) -> list[str]:
        named = [since.change.capacity for since in changes if since.standing in standings]
        return [catalogue.capacities[name].label for name in named]

    moved = tuple(
        MovedShown(
            label=catalogue.capacities[since.change.capacity].label,
            change=change_in_words(since),
            answer=standing_in_words(since),
            done=f"{since.done_min:.0f} min of work between" if since.done_min >= 0.5 else "",
        )
        for since in one.last
        if since.standing in (Standing.BETTER, Standing.WORSE)
    )
    earlier = [
        name
        for name in labels(one.first, Standing.BETTER, Standing.WORSE)
        if name not in [shown.label for shown in moved]
    ]
    first = f"Since {day_in_words(one.screened[0])} also: {_listed(earlier)}." if earlier else ""
    told = [since for since in one.last if since.change.told]
    unknown = labels(tuple(told), Standing.NOT_YET_KNOWN)
    return LineShown(
        line=one,
        screens=_screens(one),
        moved=moved,
        since_first=first,
        same=_listed(labels(one.last, Standing.NO)),
        unknown=_listed(unknown),
        done=done_in_words(one.done_min, catalogue),
    )


def _listed(labels: list[str]) -> str:
    return "; ".join([*labels[:1], *map(lower_first, labels[1:])])


def _screens(one: SquadLine) -> str:
    days = one.screened
    if not days:
        return "not screened yet"
    if len(days) == 1:
        return f"one screen, {day_in_words(days[0])}"
    return f"{len(days)} screens, latest {day_in_words(days[-1])}, before {day_in_words(days[-2])}"
