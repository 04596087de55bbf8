"""What the records know of the gymnasts of a group, as plan and evening ask for it."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from chordline.application.club.her_screen import flags_on
from chordline.application.club.ports import Tx
from chordline.application.club.records import Group, GymnastRecord, Json, NoteRecord
from chordline.application.club.views import GymnastQuery, SquadRow
from chordline.application.training.defaults import UNSAID_LEVEL
from chordline.application.training.plan_problem import barred_loads
from chordline.application.training.records import WorkRecord
from chordline.catalogue.schema import Catalogue
from chordline.core.planning.problem import Level
from chordline.errors import NotThereError

__all__ = ["Member", "barred_loads", "find_group", "open_signs", "read_members"]

_PAGE_ROWS = 500
#: Work that is older than any screen still says nothing of today.
_WORK_COUNTS = timedelta(weeks=26)


@dataclass(frozen=True)
class Member:
    """A gymnast of a group.

    Attributes
    ----------
    gymnast : GymnastRecord
    level : Level
    level_said : bool
        Whether somebody said it; else it is the careful word.
    signs : tuple of str
        Reported signs that are open, and those that her latest photos show; keys of the
        catalogue's referrals.
    findings : mapping or None
        `chordline.findings/1` of her latest screen; None = never screened.
    screened_on : date or None
    work : tuple of WorkRecord
        What she did since that screen, the first day first.
    """

    gymnast: GymnastRecord
    level: Level
    level_said: bool
    signs: tuple[str, ...]
    findings: Json | None
    screened_on: date | None
    work: tuple[WorkRecord, ...]

    @property
    def id(self) -> int:
        """Her number."""
        return self.gymnast.id


def find_group(tx: Tx, group_id: int) -> Group:
    """Return a group or raise `NotThereError`."""
    groups = (one for club in tx.clubs.all() for one in tx.clubs.groups(club.id))
    found = next((one for one in groups if one.id == group_id), None)
    if found is None:
        raise NotThereError("group", group_id)
    return found


def read_members(tx: Tx, group: Group, *, today: date, catalogue: Catalogue) -> tuple[Member, ...]:
    """Return the gymnasts of a group who are not put away, by name."""
    rows = tuple(_squad(tx, group))
    ids = [row.gymnast.id for row in rows]
    levels = tx.training.levels(ids)
    work = _work_since(tx, rows, today)
    return tuple(
        Member(
            gymnast=row.gymnast,
            level=levels.get(row.gymnast.id, UNSAID_LEVEL),
            level_said=row.gymnast.id in levels,
            signs=_signs(row, tx.gymnasts.notes(row.gymnast.id), catalogue),
            findings=None if row.findings is None else row.findings.record,
            screened_on=row.last_screened_on,
            work=work.get(row.gymnast.id, ()),
        )
        for row in rows
    )


def open_signs(notes: Sequence[NoteRecord], catalogue: Catalogue) -> tuple[str, ...]:
    """Return the reported signs that nobody has closed."""
    return flags_on([one for one in notes if one.closed_on is None], date.max, catalogue)


def _signs(row: SquadRow, notes: Sequence[NoteRecord], catalogue: Catalogue) -> tuple[str, ...]:
    """Return the signs that are open, and those that her latest photos show by themselves."""
    noted = open_signs(notes, catalogue)
    if row.findings is None:
        return noted
    # A sign that was noted and has been closed since stops her no more.
    then = flags_on(notes, row.findings.screened_on, catalogue)
    seen = (one["flag"] for one in row.findings.record.get("stops", ()))
    return tuple(
        dict.fromkeys(
            (*noted, *(one for one in seen if one in catalogue.referrals and one not in then))
        )
    )


def _squad(tx: Tx, group: Group) -> Iterator[SquadRow]:
    after: str | None = None
    while True:
        page = tx.gymnasts.squad(
            GymnastQuery(group.club_id, group_id=group.id, after=after, limit=_PAGE_ROWS)
        )
        yield from page.rows
        if page.next is None:
            return
        after = page.next


def _work_since(
    tx: Tx, rows: Sequence[SquadRow], today: date
) -> Mapping[int, tuple[WorkRecord, ...]]:
    first = today - _WORK_COUNTS
    screened = {row.gymnast.id: row.last_screened_on for row in rows}
    found: dict[int, tuple[WorkRecord, ...]] = {}
    for one in tx.training.work(list(screened), first=first, last=today):
        since = screened[one.gymnast_id]
        # Work of the day of the screen came after it or before it: nobody knows, so it counts not.
        if since is None or one.held_on > since:
            found[one.gymnast_id] = (*found.get(one.gymnast_id, ()), one)
    return found
