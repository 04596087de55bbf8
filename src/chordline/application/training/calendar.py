"""A group's sessions and re-test days as entries of a calendar; no gymnast is named in it."""

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from typing import Protocol

from chordline.application.club.ports import Records
from chordline.application.club.records import Group
from chordline.application.training.members import find_group
from chordline.application.training.planned import Evening, sessions_that_hold
from chordline.errors import RefusedInputError


@dataclass(frozen=True)
class CalendarEntry:
    """One entry.

    Attributes
    ----------
    uid : str
        The same whenever the same day is written again, so that a calendar takes it once.
    day : date
    starts_at : time or None
        As the clock in the gym shows it; None = the whole day.
    minutes : int or None [min]
        None where it lasts the whole day.
    title, words : str
    """

    uid: str
    day: date
    starts_at: time | None
    minutes: int | None
    title: str
    words: str = ""


class CalendarWriter(Protocol):
    """Writes entries into a file that calendars read."""

    def __call__(
        self, name: str, entries: Sequence[CalendarEntry], *, written_at: datetime
    ) -> bytes:
        """Return the file; `name` is what the calendar is called."""
        ...


class GroupCalendar:
    """Use case: write the sessions that are planned, and the re-test days given."""

    def __init__(self, records: Records, write: CalendarWriter) -> None:
        self._records = records
        self._write = write

    def __call__(
        self, group_id: int, *, today: date, retests: Sequence[tuple[date, str]] = ()
    ) -> bytes:
        """Return the calendar of a group.

        Parameters
        ----------
        group_id : int
        today : date
            From the plan that holds on this day, or else the latest made, with those after it.
        retests : sequence of (date, str)
            Days on which is tested again, and what; names nobody.

        Raises
        ------
        NotThereError
            Where there is no such group.
        RefusedInputError
            Where it has no plan.
        """
        with self._records.reading() as tx:
            group = find_group(tx, group_id)
            club = next(one for one in tx.clubs.all() if one.id == group.club_id)
            plans = tx.training.plans(group_id)
            holding = tx.training.plan_holding(group_id, today)
            minutes = tx.training.group(group_id).minutes
        if not plans:
            raise RefusedInputError(f"{group.name} has no plan yet; make one first")
        whose = f"{club.name}\n{group.id}"
        begins = plans[0].first_day if holding is None else holding.first_day
        sessions = [
            _session(one, group, whose=whose, minutes=minutes)
            for one in sessions_that_hold(plans)
            if one.held_on >= begins
        ]
        tests = [
            CalendarEntry(_uid(whose, "test", day, words), day, None, None, words, group.name)
            for day, words in retests
        ]
        entries = sorted([*sessions, *tests], key=lambda one: (one.day, one.uid))
        return self._write(group.name, entries, written_at=plans[0].made_at)


def _session(session: Evening, group: Group, *, whose: str, minutes: int) -> CalendarEntry:
    return CalendarEntry(
        uid=_uid(whose, "session", session.held_on),
        day=session.held_on,
        starts_at=session.starts_at,
        minutes=None if session.starts_at is None else minutes,
        title=group.name,
    )


def _uid(whose: str, *parts: object) -> str:
    # Two clubs have groups of the same number; their entries must not replace each other.
    words = "\n".join([whose, *map(str, parts)])
    return f"{hashlib.sha256(words.encode()).hexdigest()[:32]}@chordline"
