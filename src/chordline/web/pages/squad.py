"""Squad: every gymnast in words, to search, sort and filter."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated
from urllib.parse import urlencode

from fastapi import APIRouter, Query, Request
from starlette.responses import HTMLResponse

from chordline.adapters.printing.body_line import TABLE
from chordline.application.club.her_screen import counting_measurement
from chordline.application.club.ports import Tx
from chordline.application.club.records import Group, GymnastRecord
from chordline.application.club.told import ToldFindings, tell_findings
from chordline.application.club.views import GymnastQuery, SortKey, SquadRow
from chordline.application.make_squad_sheet import draw_line, lines_to_show
from chordline.application.squad_sheet import SquadCell
from chordline.catalogue.schema import Catalogue
from chordline.web.desk import AtDesk
from chordline.web.drawings import MARKS, UNTESTED_MARK, draw_glyph, mark_of
from chordline.web.ids import read_id
from chordline.web.rendering import render

router = APIRouter()

_PAGE_ROWS = 50
SORTS: dict[SortKey, str] = {
    "name": "Name",
    "card": "Card",
    "last_screened": "Last screen",
    "birth_date": "Birth date",
}
VIEWS = {"limits": "What limits her", "capacities": "All capacities"}


@dataclass(frozen=True)
class Asked:
    """What the address asks for.

    Attributes
    ----------
    search : str
    group : int or None
    sort : {'name', 'card', 'last_screened', 'birth_date'}
    down, archived : bool
    view : {'limits', 'capacities'}
    """

    search: str
    group: int | None
    sort: SortKey
    down: bool
    archived: bool
    view: str

    @property
    def everybody(self) -> bool:
        """Whether nothing is left out."""
        return not self.search and self.group is None and not self.archived

    def address(self, **changes: object) -> str:
        """Return the address of the table with some of it asked otherwise."""
        plain = {
            "search": self.search,
            "group": self.group,
            "sort": None if self.sort == "name" else self.sort,
            "down": 1 if self.down else None,
            "archived": 1 if self.archived else None,
            "view": None if self.view == "limits" else self.view,
            **changes,
        }
        told = {key: value for key, value in plain.items() if value not in (None, "", False)}
        return f"/squad?{urlencode(told)}" if told else "/squad"

    def sorted_by(self, key: str) -> str:
        """Return the address of the table sorted by a column, the other way round if it is."""
        down = 1 if self.sort == key and not self.down else None
        return self.address(sort=None if key == "name" else key, down=down)

    def direction(self, key: str) -> str:
        """Return what a column's heading says of its order."""
        if self.sort != key:
            return "none"
        return "descending" if self.down else "ascending"


@dataclass(frozen=True)
class CellShown:
    """One capacity of one gymnast: the mark that the page carries, and the words."""

    mark: str
    verdict: str
    words: str
    known_to: str


@dataclass(frozen=True)
class GymnastShown:
    """One line of the table.

    Attributes
    ----------
    row : SquadRow
    told : ToldFindings or None
        None where nothing was found yet.
    glyph, glyph_of : str
        Her line, and which test it is where it is no handstand; both may be empty.
    cells : tuple of CellShown
    """

    row: SquadRow
    told: ToldFindings | None
    glyph: str
    glyph_of: str
    cells: tuple[CellShown, ...]

    @property
    def gymnast(self) -> GymnastRecord:
        """Whose line it is."""
        return self.row.gymnast


@router.get("/squad")
def show_squad(
    request: Request,
    desk: AtDesk,
    *,
    search: Annotated[str, Query(max_length=100)] = "",
    group: Annotated[str, Query(max_length=12)] = "",
    sort: Annotated[str, Query(max_length=20)] = "name",
    down: bool = False,
    archived: bool = False,
    view: str = "limits",
    after: Annotated[str | None, Query(max_length=600)] = None,
) -> HTMLResponse:
    """Show a page of gymnasts."""
    club, catalogue = desk.club, desk.app.catalogue
    asked = Asked(
        search=search.strip(),
        group=read_id(group),
        sort=next((key for key in SORTS if key == sort), "name"),
        down=down,
        archived=archived,
        view=view if view in VIEWS else "limits",
    )
    query = GymnastQuery(
        club.id,
        text=asked.search,
        group_id=asked.group,
        archived=asked.archived,
        sort=asked.sort,
        descending=asked.down,
        after=after or None,
        limit=_PAGE_ROWS,
    )
    with desk.app.records.reading() as tx:
        page = tx.gymnasts.squad(query)
        groups = tx.clubs.groups(club.id)
        glyphs = _glyphs(tx, page.rows, catalogue)
    rows = [_shown(row, glyphs, catalogue) for row in page.rows]
    return render(
        request,
        "squad.html",
        here="squad",
        asked=asked,
        rows=rows,
        total=page.total,
        following=None if page.next is None else asked.address(after=page.next),
        later=after is not None,
        groups=groups,
        group=_named(groups, asked.group),
        sorts=SORTS,
        views=VIEWS,
        columns=[entry.label for entry in catalogue.capacities.values()],
        marks=MARKS if asked.view == "capacities" else {},
        nobody_screened=bool(rows) and all(row.row.last_screened_on is None for row in rows),
    )


def _named(groups: Sequence[Group], group_id: int | None) -> Group | None:
    return next((one for one in groups if one.id == group_id), None)


def _glyphs(tx: Tx, rows: Sequence[SquadRow], catalogue: Catalogue) -> dict[int, tuple[str, str]]:
    """Return (glyph, title) by screen: the handstand, else another line with the arms overhead.

    Asked for group by group of tests: where everybody has a handstand, one question is enough.
    """
    left = {row.findings.screen_id for row in rows if row.findings is not None}
    found: dict[int, tuple[str, str]] = {}
    for tests in lines_to_show(catalogue):
        if not left:
            break
        best: dict[int, int] = {}
        for photo in tx.photos.of_screens(sorted(left), tests):
            screen_id, test = photo.photo.screen_id, photo.photo.test
            measurement = counting_measurement(photo)
            if screen_id is None or test not in tests or measurement is None:
                continue
            place = tests.index(test)
            if place <= best.get(screen_id, len(tests)):
                best[screen_id] = place
                line = draw_line(measurement, catalogue)
                found[screen_id] = (
                    draw_glyph(photo, line, TABLE),
                    "" if test == "handstand" else line.title,
                )
        left -= best.keys()
    return found


def _shown(row: SquadRow, glyphs: dict[int, tuple[str, str]], catalogue: Catalogue) -> GymnastShown:
    if row.findings is None:
        return GymnastShown(row, None, "", "", ())
    told = tell_findings(row.findings.record, catalogue)
    glyph, title = glyphs.get(row.findings.screen_id, ("", ""))
    none = SquadCell(None, "not tested yet", "")
    return GymnastShown(
        row=row,
        told=told,
        glyph=glyph,
        glyph_of=title,
        cells=tuple(_cell(told.cells.get(name, none)) for name in catalogue.capacities),
    )


def _cell(cell: SquadCell) -> CellShown:
    if cell.verdict is None:
        return CellShown(UNTESTED_MARK, "", cell.words, "")
    # A number keeps its sign beside it, however narrow the cell.
    words = cell.words.replace(" %", "\u00a0%")
    verdict = cell.verdict.value
    return CellShown(
        mark_of(cell.verdict), "" if words == verdict else verdict, words, cell.known_to
    )
