"""Everybody's latest screen together: what a squad's sheet shows."""

from dataclasses import dataclass
from datetime import date

from chordline.application.club.judge_screen import JudgeScreen
from chordline.application.club.ports import Tx
from chordline.application.club.views import GymnastQuery
from chordline.application.findings import Findings
from chordline.application.screen_folder import FolderScreen, GymnastScreen, LeftOut
from chordline.errors import RefusedInputError

#: More gymnasts than this are no squad on paper.
MOST_TOGETHER = 120


@dataclass(frozen=True)
class LatestScreens:
    """The latest screens of a squad, in the order of the cards.

    Attributes
    ----------
    gymnast_ids : tuple of int
        Of those who are in `screens`, in its order.
    screens : FolderScreen
    found : tuple of Findings
        One a gymnast, in the same order.
    days : tuple of date
        When each was screened.
    """

    gymnast_ids: tuple[int, ...]
    screens: FolderScreen
    found: tuple[Findings, ...]
    days: tuple[date, ...]


def read_latest_screens(
    tx: Tx, club_id: int, judge: JudgeScreen, *, group_id: int | None = None
) -> LatestScreens:
    """Return the latest screen of everybody, judged; who has none is left out with the reason.

    Raises
    ------
    RefusedInputError
        Where there are too many for one sheet.
    """
    query = GymnastQuery(club_id, group_id=group_id, sort="card", limit=MOST_TOGETHER)
    page = tx.gymnasts.page(query)
    if page.next is not None:
        raise RefusedInputError(
            f"a sheet holds {MOST_TOGETHER} gymnasts, here are {page.total}; choose a group"
        )
    left_out: list[LeftOut] = []
    ids: list[int] = []
    screens: list[GymnastScreen] = []
    found: list[Findings] = []
    days: list[date] = []
    for row in page.rows:
        her = row.gymnast
        if row.last_screened_on is None:
            left_out.append(LeftOut(her.name, "not screened yet"))
            continue
        view = tx.gymnasts.view(her.id, screens=1).screens[0]
        hers = judge.read(tx, view, her)
        left_out.extend(hers.left_out)
        if hers.screen.filed or hers.screen.held:
            ids.append(her.id)
            screens.append(hers.screen)
            found.append(judge.find(hers, view))
            days.append(view.screen.screened_on)
    return LatestScreens(
        tuple(ids), FolderScreen(tuple(screens), tuple(left_out)), tuple(found), tuple(days)
    )
