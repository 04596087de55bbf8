"""Roster: gymnasts in and out, groups, cards."""

from collections.abc import Sequence
from typing import Annotated

from fastapi import APIRouter, File, Form, Request, UploadFile
from starlette.responses import HTMLResponse, Response

from chordline.adapters.printing.cards import CardOrder, print_cards
from chordline.adapters.tables.limits import MOST_BYTES
from chordline.adapters.tables.table_file import TableFileReader, writer_for
from chordline.application.club.new_gymnast import AddGymnast, AlreadySentError, GiveCards
from chordline.application.club.records import Consent
from chordline.application.club.views import GymnastQuery
from chordline.application.findings_words import upper_first
from chordline.application.roster.columns import COLUMNS
from chordline.application.roster.in_and_out import ExportRoster, ImportRoster, PreviewRoster
from chordline.application.roster.match import all_gymnasts
from chordline.application.roster.preview import RosterPreview
from chordline.errors import RefusedInputError
from chordline.web.desk import AtDesk, Coach, Desk
from chordline.web.forms import go_to, read_card, read_day
from chordline.web.ids import PathId, QueryId
from chordline.web.rendering import count_in_words, render
from chordline.web.staged import Staged

router = APIRouter()

#: Files between their preview and their import.
_STAGED = Staged()
#: Rows of a preview that a page shows of each kind; bad rows are all shown.
_SHOWN_ROWS = 200
_XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


@router.get("/roster")
def show_roster(request: Request, desk: AtDesk) -> HTMLResponse:
    """Show the ways in and out."""
    return _roster_page(request, desk)


def _roster_page(
    request: Request, desk: Desk, *, problem: str = "", status: int = 200
) -> HTMLResponse:
    club = desk.club
    with desk.app.records.reading() as tx:
        groups = tx.clubs.groups(club.id)
        total = tx.gymnasts.page(GymnastQuery(club.id, limit=1)).total
        cards = len(tx.gymnasts.cards(club.id))
    return render(
        request,
        "roster.html",
        here="squad",
        status=status,
        groups=groups,
        total=total,
        cards=cards,
        columns=COLUMNS,
        problem=problem,
    )


@router.post("/roster/preview")
def preview_file(
    request: Request, desk: AtDesk, file: Annotated[UploadFile, File()]
) -> HTMLResponse:
    """Show what a file would do; nothing is changed."""
    data = file.file.read(MOST_BYTES + 1)
    name = (file.filename or "the file")[:120]
    try:
        table = TableFileReader().read(data)
        preview = PreviewRoster(desk.app.records)(desk.club.id, table, today=desk.today())
    except RefusedInputError as error:
        return _roster_page(request, desk, problem=f"{name}: {error}", status=422)
    token = _STAGED.keep(name, data)
    return _preview_page(request, preview, name=name, token=token)


def _preview_page(
    request: Request, preview: RosterPreview, *, name: str, token: str, status: int = 200
) -> HTMLResponse:
    good = [line for line in preview.lines if line.effect in ("new", "changes")]
    return render(
        request,
        "roster_preview.html",
        here="squad",
        status=status,
        preview=preview,
        counts=preview.counts,
        good=good[:_SHOWN_ROWS],
        more_good=max(0, len(good) - _SHOWN_ROWS),
        bad=preview.of("bad"),
        name=name,
        token=token,
    )


@router.post("/roster/import")
def import_file(
    request: Request,
    desk: AtDesk,
    coach: Coach,
    token: Annotated[str, Form()],
    skip_bad: Annotated[bool, Form()] = False,
) -> Response:
    """Take the file in that was previewed under a token."""
    staged = _STAGED.get(token)
    if staged is None:
        return _roster_page(
            request,
            desk,
            problem="The file is no longer here (the server was started anew, or it waited too "
            "long); choose it again. What was imported before is kept.",
            status=409,
        )
    name, data = staged
    outcome = ImportRoster(desk.app.records)(
        desk.club.id,
        TableFileReader().read(data),
        skip_bad=skip_bad,
        token=token,
        today=desk.today(),
        author=coach,
    )
    desk.measuring.wake()
    if outcome.already_done:
        return go_to("/squad", f"{name} was imported before; nothing was done twice.")
    counts = outcome.preview.counts
    said = f"{name}: {counts['new']} new, {counts['changes']} changed, {counts['same']} the same"
    left_out = f", {count_in_words(counts['bad'], 'row')} left out" if counts["bad"] else ""
    return go_to("/squad", f"{said}{left_out}.")


@router.post("/roster/gymnasts")
def add_gymnast(
    request: Request,
    desk: AtDesk,
    token: Annotated[str, Form()],
    name: Annotated[str, Form()] = "",
    card: Annotated[str, Form()] = "",
    birth_date: Annotated[str, Form()] = "",
    group: Annotated[str, Form()] = "",
    may_measure: Annotated[bool, Form()] = False,
    may_keep_pictures: Annotated[bool, Form()] = False,
    may_show_to_squad: Annotated[bool, Form()] = False,
) -> Response:
    """Take one gymnast in."""
    try:
        her = AddGymnast(desk.app.records)(
            desk.club.id,
            name=name,
            card=read_card(card),
            next_card=True,
            birth_date=read_day(birth_date, of="birth date"),
            consent=Consent(may_measure, may_keep_pictures, may_show_to_squad),
            group_id=int(group) if group.isdigit() else None,
            token=token,
        )
    except AlreadySentError:
        return go_to("/squad", "This form was sent before; she was taken in then.")
    except RefusedInputError as error:
        return _roster_page(request, desk, problem=_sentence(error), status=422)
    desk.measuring.wake()
    number = "" if her.card is None else f" with card {her.card}"
    return go_to(f"/gymnasts/{her.id}", f"{her.name} was taken in{number}.")


@router.post("/roster/give-cards")
def give_cards(desk: AtDesk) -> Response:
    """Give everybody without a card the next free one."""
    given = GiveCards(desk.app.records)(desk.club.id)
    desk.measuring.wake()
    return go_to("/roster#cards", f"{count_in_words(given, 'gymnast')} got a card number.")


@router.get("/roster/export.{kind}")
def export(desk: AtDesk, kind: str, group: QueryId = None) -> Response:
    """Send the roster as a file that can be imported again."""
    writer = writer_for(f"roster.{kind}")
    rows = ExportRoster(desk.app.records)(desk.club.id, group)
    media_type = _XLSX if kind == "xlsx" else "text/csv; charset=utf-8"
    return _attached(writer.write(COLUMNS, rows), f"roster.{kind}", media_type)


@router.get("/roster/cards.pdf")
def cards(
    desk: AtDesk, group: QueryId = None, layout: str = "stand", names: bool = False
) -> Response:
    """Send the cards of everybody who has one."""
    if layout not in ("stand", "small"):
        raise RefusedInputError("cards are printed as 'stand' or 'small'")
    with desk.app.records.reading() as tx:
        rows = list(all_gymnasts(tx, desk.club.id, group_id=group))
    holders = sorted(
        (row.gymnast.card, row.gymnast.name) for row in rows if row.gymnast.card is not None
    )
    if not holders:
        raise RefusedInputError("nobody here has a card yet; give everybody a number first")
    orders = [CardOrder(card, name if names else "") for card, name in holders]
    paper = print_cards(orders, layout="stand" if layout == "stand" else "small")
    return _attached(paper, "cards.pdf", "application/pdf")


@router.post("/groups")
def add_group(desk: AtDesk, name: Annotated[str, Form()] = "") -> Response:
    """Make a group."""
    name = _group_name(name)
    with desk.app.records.transaction() as tx:
        tx.clubs.add_group(desk.club.id, name)
    return go_to("/roster#groups", f"Group '{name}' was made.")


@router.post("/groups/{group_id}/rename")
def rename_group(desk: AtDesk, group_id: PathId, name: Annotated[str, Form()] = "") -> Response:
    """Give a group another name."""
    name = _group_name(name)
    with desk.app.records.transaction() as tx:
        tx.clubs.rename_group(group_id, name)
    return go_to("/roster#groups", f"The group is called '{name}' now.")


@router.post("/groups/{group_id}/remove")
def remove_group(desk: AtDesk, group_id: PathId) -> Response:
    """Remove a group; its gymnasts stay."""
    with desk.app.records.transaction() as tx:
        tx.clubs.remove_group(group_id)
    return go_to("/roster#groups", "The group was removed; its gymnasts are still here.")


@router.get("/groups/{group_id}")
def show_group(
    request: Request, desk: AtDesk, group_id: PathId, search: str = "", after: str | None = None
) -> HTMLResponse:
    """Show who is in a group, and whom the search finds to put into it."""
    club = desk.club
    with desk.app.records.reading() as tx:
        group = next((one for one in tx.clubs.groups(club.id) if one.id == group_id), None)
        if group is None:
            raise RefusedInputError("this group is not here any more; go back and choose again")
        members = tx.gymnasts.page(GymnastQuery(club.id, group_id=group_id, after=after))
        found = tx.gymnasts.page(GymnastQuery(club.id, text=search)).rows if search else ()
    inside = {row.gymnast.id for row in members.rows}
    return render(
        request,
        "group.html",
        here="squad",
        group=group,
        members=members,
        found=[row for row in found if row.gymnast.id not in inside],
        search=search,
    )


@router.post("/groups/{group_id}/members")
def change_members(
    desk: AtDesk,
    group_id: PathId,
    put: Annotated[Sequence[int], Form()] = (),
    take: Annotated[Sequence[int], Form()] = (),
) -> Response:
    """Put gymnasts into a group, or take them out."""
    with desk.app.records.transaction() as tx:
        if put:
            tx.clubs.put_in_group(group_id, list(put))
        if take:
            tx.clubs.take_out_of_group(group_id, list(take))
    parts = [
        f"{count_in_words(len(ids), 'gymnast')} {word}"
        for ids, word in ((put, "put in"), (take, "taken out"))
        if ids
    ]
    return go_to(f"/groups/{group_id}", f"{', '.join(parts) or 'Nobody was chosen'}.")


def _group_name(name: str) -> str:
    name = " ".join(name.split())
    if not name or len(name) > 100:
        raise RefusedInputError("a group needs a name of at most 100 letters")
    return name


def _attached(content: bytes, name: str, media_type: str) -> Response:
    headers = {"Content-Disposition": f'attachment; filename="{name}"'}
    return Response(content, media_type=media_type, headers=headers)


def _sentence(error: RefusedInputError) -> str:
    return f"{upper_first(str(error))}."
