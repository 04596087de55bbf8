"""What the squad's page says, before anyone decides how it looks."""

from dataclasses import dataclass

from chordline.application.drawn_line import DrawnLine
from chordline.application.sheet_findings import StopSign
from chordline.core.body.verdict import Verdict


@dataclass(frozen=True)
class SquadCell:
    """One capacity of one gymnast.

    Attributes
    ----------
    verdict : Verdict or None
        None where no test told anything of it.
    words : str
        A few words, e.g. ``closed 22°``.
    known_to : str
        ± with its unit, e.g. ``± 7°``; empty where it was not tested.
    """

    verdict: Verdict | None
    words: str
    known_to: str


@dataclass(frozen=True)
class SquadRow:
    """One gymnast.

    Attributes
    ----------
    gymnast : str
    called : str
        Her name where no card stands beside it: two of one name are told apart.
    card : int or None
    page : str
        File name of her own page beside the squad's; empty where there is none.
    line : DrawnLine or None
        Her handstand, else her latest test with the arms over the ears.
    cells : tuple of SquadCell
        In the order of the sheet's columns.
    limits, open : tuple of str
        What limits her and what cannot be told yet, in a few words each.
    next : str
        The test to begin with next time; empty where none is worth its time.
    stops : tuple of StopSign
    looks : tuple of str
        Pictures that need a look, and what was put aside, each with the reason.
    """

    gymnast: str
    called: str
    card: int | None
    page: str
    line: DrawnLine | None
    cells: tuple[SquadCell, ...]
    limits: tuple[str, ...]
    open: tuple[str, ...]
    next: str
    stops: tuple[StopSign, ...]
    looks: tuple[str, ...]


@dataclass(frozen=True)
class Planned:
    """Who is to do a test next time for one purpose: ``first``, or what it would decide."""

    why: str
    gymnasts: tuple[str, ...]


@dataclass(frozen=True)
class NextTest:
    """One test of the next session.

    Attributes
    ----------
    title, how, care : str
    takes : str
        Gym time for each gymnast and for all of them, in words.
    planned : tuple of Planned
        Gymnasts in the order of the rows.
    """

    title: str
    how: str
    care: str
    takes: str
    planned: tuple[Planned, ...]


@dataclass(frozen=True)
class SquadSheet:
    """A whole squad on one page. In the order of the cards: nobody is ranked.

    Attributes
    ----------
    squad : str
        Which squad or screen.
    screened_on : str
        Date in words of the reader, or empty.
    columns : tuple of str
        The capacities, in a coach's words.
    rows : tuple of SquadRow
    next_tests : tuple of NextTest
        In the order of the battery.
    left_out : tuple of str
        Pictures and lines that could not be used, each with its reason.
    care : tuple of str
    """

    squad: str
    screened_on: str
    columns: tuple[str, ...]
    rows: tuple[SquadRow, ...]
    next_tests: tuple[NextTest, ...]
    left_out: tuple[str, ...]
    care: tuple[str, ...]
