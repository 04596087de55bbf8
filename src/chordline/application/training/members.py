"""What the records know of the gymnasts of a group, as plan and evening ask for it."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from chordline.application.club.ports import Tx
from chordline.application.club.records import Group, GymnastRecord, Json, NoteRecord
from chordline.application.club.views import GymnastQuery, SquadRow
from chordline.application.training.defaults import UNSAID_LEVEL
from chordline.application.training.records import WorkRecord
from chordline.application.training.signs import open_signs, seen_signs
from chordline.catalogue.schema import Catalogue
from chordline.core.planning.problem import Level
from chordline.errors import NotThereError

__all__ = ["Member", "find_group", "open_signs", "read_members"]

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
        The day that the findings speak of.
    work : tuple of WorkRecord
        What she did lately, the first day first.
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
    work = _work_lately(tx, ids, today)
    return tuple(
        Member(
            gymnast=row.gymnast,
            level=levels.get(row.gymnast.id, UNSAID_LEVEL),
            level_said=row.gymnast.id in levels,
            signs=_signs(row, tx.gymnasts.notes(row.gymnast.id), catalogue),
            findings=None if row.findings is None else row.findings.record,
            screened_on=None if row.findings is None else row.findings.screened_on,
            work=work.get(row.gymnast.id, ()),
        )
        for row in rows
    )


def _signs(row: SquadRow, notes: Sequence[NoteRecord], catalogue: Catalogue) -> tuple[str, ...]:
    """Return the signs that are open, and those that her latest photos show by themselves."""
    noted = open_signs(notes, catalogue)
    if row.findings is None:
        return noted
    stops = (one["flag"] for one in row.findings.record.get("stops", ()))
    seen = seen_signs(notes, stops, row.findings.screened_on, catalogue)
    return tuple(dict.fromkeys((*noted, *seen)))


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


def _work_lately(tx: Tx, ids: Sequence[int], today: date) -> Mapping[int, tuple[WorkRecord, ...]]:
    found: dict[int, tuple[WorkRecord, ...]] = {}
    for one in tx.training.work(ids, first=today - _WORK_COUNTS, last=today):
        found[one.gymnast_id] = (*found.get(one.gymnast_id, ()), one)
    return found
