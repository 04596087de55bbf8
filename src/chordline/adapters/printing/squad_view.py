"""The squad's sheet as words and drawings: what page and paper have in common."""

from dataclasses import dataclass
from urllib.parse import quote

from chordline.adapters.printing.body_line import TABLE
from chordline.adapters.printing.line_glyph import line_glyph
from chordline.adapters.printing.marks import untested_mark, verdict_mark, verdict_words
from chordline.adapters.printing.sheet_view import NEEDS_A_LOOK, LegendView
from chordline.adapters.printing.svg import clean
from chordline.application.drawn_line import DrawnLine
from chordline.application.findings_words import upper_first
from chordline.application.squad_sheet import NextTest, SquadCell, SquadRow, SquadSheet


@dataclass(frozen=True)
class CellView:
    """One capacity of one gymnast; `known_to` is empty where it was not tested."""

    mark: str
    said: str
    words: str
    known_to: str


@dataclass(frozen=True)
class RowView:
    """One gymnast.

    Attributes
    ----------
    card, page : str
        Number of her card, and the address of her page; each may be empty.
    glyph, shows : str
        Her line, and which test it is; empty where no picture has the arms overhead.
    noted : str
        What must stand beside the drawing: the test where it is no handstand, and doubts.
    """

    gymnast: str
    called: str
    card: str
    page: str
    glyph: str
    shows: str
    noted: str
    cells: tuple[CellView, ...]
    limits: tuple[str, ...]
    open: tuple[str, ...]
    next: str


@dataclass(frozen=True)
class SquadStopView:
    """A reported sign of one gymnast."""

    gymnast: str
    label: str
    advice: str


@dataclass(frozen=True)
class NextTestView:
    """One test of the next session, and for whom: (why, names)."""

    title: str
    how: str
    care: str
    takes: str
    planned: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class SquadView:
    """The whole sheet as it is shown."""

    squad: str
    screened_on: str
    count: str
    columns: tuple[str, ...]
    rows: tuple[RowView, ...]
    stops: tuple[SquadStopView, ...]
    next_tests: tuple[NextTestView, ...]
    looks: tuple[str, ...]
    left_out: tuple[str, ...]
    care: tuple[str, ...]
    legend: tuple[LegendView, ...]


def view_squad(sheet: SquadSheet) -> SquadView:
    """Return what page and paper show of `sheet`."""
    count = len(sheet.rows)
    return SquadView(
        squad=clean(sheet.squad),
        screened_on=clean(sheet.screened_on),
        count=f"{count} gymnast{'' if count == 1 else 's'}",
        columns=tuple(map(clean, sheet.columns)),
        rows=tuple(map(_view_row, sheet.rows)),
        stops=tuple(
            SquadStopView(clean(row.called), clean(stop.label), clean(stop.advice))
            for row in sheet.rows
            for stop in row.stops
        ),
        next_tests=tuple(map(_view_next, sheet.next_tests)),
        looks=tuple(clean(look) for row in sheet.rows for look in row.looks),
        left_out=tuple(map(clean, sheet.left_out)),
        care=tuple(map(clean, sheet.care)),
        legend=(
            *(
                LegendView(verdict_mark(verdict), verdict.value.capitalize(), meaning)
                for verdict, meaning in verdict_words()
            ),
            LegendView(untested_mark(), "Not tested yet", "No test has told anything of it."),
        ),
    )


def _view_row(row: SquadRow) -> RowView:
    shows, noted = ("", "") if row.line is None else _names_of(row.line)
    return RowView(
        gymnast=clean(row.gymnast),
        called=clean(row.called),
        card="" if row.card is None else str(row.card),
        page=quote(row.page),
        glyph="" if row.line is None else line_glyph(row.line, TABLE),
        shows=shows,
        noted=noted,
        cells=tuple(map(_view_cell, row.cells)),
        limits=tuple(map(clean, row.limits)),
        open=tuple(map(clean, row.open)),
        next=clean(row.next),
    )


def _names_of(line: DrawnLine) -> tuple[str, str]:
    """Return which test a drawing shows, and what of it must be said beside the drawing."""
    title = clean(line.title)
    doubt = "" if line.measurement.trust.accepted else NEEDS_A_LOOK
    other = "" if line.measurement.test == "handstand" else title
    return ", ".join(filter(None, (title, doubt))), ", ".join(filter(None, (other, doubt)))


def _view_cell(cell: SquadCell) -> CellView:
    if cell.verdict is None:
        return CellView(untested_mark(), "", clean(cell.words), "")
    # A number keeps its sign beside it, however narrow the cell.
    words = clean(cell.words).replace(" %", "\u00a0%")
    return CellView(verdict_mark(cell.verdict), cell.verdict.value, words, cell.known_to)


def _view_next(one: NextTest) -> NextTestView:
    return NextTestView(
        title=clean(one.title),
        how=clean(one.how),
        care=clean(one.care),
        takes=upper_first(one.takes),
        planned=tuple(
            (upper_first(clean(of.why)), clean(", ".join(of.gymnasts))) for of in one.planned
        ),
    )
