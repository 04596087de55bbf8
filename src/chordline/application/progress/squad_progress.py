"""Who moved and who did not, by name, with the work done beside it; and who is to be tested again.

Nobody is ranked: rows stand by name, re-tests by their day.
"""

import threading
from collections import OrderedDict
from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from chordline.application.club.ports import Records
from chordline.application.club.records import GymnastRecord
from chordline.application.club.views import GymnastQuery
from chordline.application.progress.dose import minutes_by_capacity
from chordline.application.progress.her_progress import HerProgress, HerRead
from chordline.application.progress.judge_her import minutes_since, plan_retest, since_of
from chordline.application.progress.timelines import work_between
from chordline.application.progress.told import HerRetest, Since, Standing
from chordline.core.progress.change import Changes, find_changes_of_all

_PAGE_ROWS = 500
#: Lines that are kept until what they rest on changes.
_KEPT = 2000


@dataclass(frozen=True)
class SquadLine:
    """One gymnast of the squad.

    Attributes
    ----------
    gymnast : GymnastRecord
    screened : tuple of date
        Days of the screens that count, the first first.
    last, first : tuple of Since
        Changes since the screen before and since the first one, of every capacity in the order of
        the catalogue; empty with one screen.
    done_min : mapping of capacity to float [min]
        Work since her latest screen.
    retest : HerRetest or None
    """

    gymnast: GymnastRecord
    screened: tuple[date, ...]
    last: tuple[Since, ...]
    first: tuple[Since, ...]
    done_min: Mapping[str, float]
    retest: HerRetest | None

    @property
    def moved(self) -> bool:
        """Whether any change since the screen before is real."""
        return any(one.standing in (Standing.BETTER, Standing.WORSE) for one in self.last)


@dataclass(frozen=True)
class SquadProgress:
    """A page of a squad: lines by name, re-tests by day, and where the next page begins."""

    day: date
    lines: tuple[SquadLine, ...]
    next: str | None
    total: int

    @property
    def retests(self) -> tuple[HerRetest, ...]:
        """The re-tests of these lines, the first day first, then by name."""
        found = [one.retest for one in self.lines if one.retest is not None]
        return tuple(sorted(found, key=lambda one: (one.due, one.gymnast.name)))


class TellSquadProgress:
    """Use case: tell the progress of a club or a group."""

    def __init__(self, records: Records, hers: HerProgress) -> None:
        self._records = records
        self._hers = hers
        self._kept: OrderedDict[Hashable, SquadLine] = OrderedDict()
        self._lock = threading.Lock()

    def __call__(
        self,
        club_id: int,
        *,
        today: date,
        group_id: int | None = None,
        after: str | None = None,
        limit: int = _PAGE_ROWS,
    ) -> SquadProgress:
        """Return a page of gymnasts, by name."""
        query = GymnastQuery(club_id, group_id=group_id, after=after, limit=limit)
        with self._records.reading() as tx:
            page = tx.gymnasts.page(query)
            read = self._hers.read(tx, [row.gymnast.id for row in page.rows], today=today)
        return SquadProgress(today, self._lines(read, today), page.next, page.total)

    def everybody(self, club_id: int, *, today: date, group_id: int | None = None) -> SquadProgress:
        """Return everybody of a club or a group."""
        lines: list[SquadLine] = []
        after: str | None = None
        while True:
            page = self(club_id, today=today, group_id=group_id, after=after)
            lines.extend(page.lines)
            if page.next is None:
                return SquadProgress(today, tuple(lines), None, page.total)
            after = page.next

    def _lines(self, read: Sequence[HerRead], day: date) -> tuple[SquadLine, ...]:
        with self._lock:
            kept = {key: self._kept[key] for one in read if (key := one.key(day)) in self._kept}
        new = [one for one in read if one.key(day) not in kept]
        numbers = self._hers.numbers
        timelines = [one.hers.timeline for one in new if one.hers.timeline is not None]
        found = iter(
            find_changes_of_all(numbers.model, timelines, numbers.changes) if timelines else ()
        )
        for one in new:
            changes = None if one.hers.timeline is None else next(found)
            kept[one.key(day)] = self._line(one, changes)
        with self._lock:
            self._kept.update(kept)
            while len(self._kept) > _KEPT:
                self._kept.popitem(last=False)
        return tuple(kept[one.key(day)] for one in read)

    def _line(self, read: HerRead, changes: Changes | None) -> SquadLine:
        hers, numbers, exercises = read.hers, self._hers.numbers, self._hers.exercises
        since: list[list[Since]] = [[], []]
        done: dict[str, float] = {}
        if changes is not None and changes.since_last:
            earlier = (hers.screens[-2], hers.screens[0])
            judged = (changes.since_last, changes.since_first)
            for into, of_all, screen in zip(since, judged, earlier, strict=True):
                minutes = minutes_since(hers, screen, numbers, exercises)
                into.extend(
                    since_of(one, screen, done_min=minutes, numbers=numbers, ask=None)
                    for one in of_all
                )
        if hers.screens:
            work = work_between(hers.work, earlier=hers.screens[-1].day, later=None)
            done = minutes_by_capacity(work, exercises, numbers.catalogue)
        return SquadLine(
            gymnast=hers.gymnast,
            screened=tuple(one.day for one in hers.screens),
            last=tuple(since[0]),
            first=tuple(since[1]),
            done_min=done,
            retest=plan_retest(hers, numbers, gains=read.gains),
        )
