"""Days of re-tests as a calendar; it names nobody."""

import hashlib
from collections import Counter
from collections.abc import Sequence
from datetime import date, datetime

from chordline.application.progress.progress_words import calendar_title
from chordline.application.progress.told import HerRetest
from chordline.application.training.calendar import CalendarEntry, CalendarWriter


class RetestCalendar:
    """Use case: write the days of re-tests into a calendar."""

    def __init__(self, write: CalendarWriter) -> None:
        self._write = write

    def __call__(
        self, name: str, retests: Sequence[HerRetest], *, today: date, written_at: datetime
    ) -> bytes:
        """Return the calendar.

        Parameters
        ----------
        name : str
            Of the club or the group.
        retests : sequence of HerRetest
        today : date
            What is overdue stands on this day.
        written_at : datetime
            Aware.
        """
        days = count_by_day(retests, today=today)
        entries = [
            CalendarEntry(_uid(name, day), day, None, None, calendar_title(count), name)
            for day, count in days
        ]
        return self._write(f"Re-tests, {name}", entries, written_at=written_at)


def count_by_day(retests: Sequence[HerRetest], *, today: date) -> tuple[tuple[date, int], ...]:
    """Return how many gymnasts are to be tested again from each day on."""
    return tuple(sorted(Counter(max(one.due, today) for one in retests).items()))


def days_in_words(retests: Sequence[HerRetest], *, today: date) -> tuple[tuple[date, str], ...]:
    """Return days and what a calendar says of them, as `GroupCalendar` takes them."""
    return tuple((day, calendar_title(count)) for day, count in count_by_day(retests, today=today))


def _uid(name: str, day: date) -> str:
    words = f"{name}\nretest\n{day.isoformat()}"
    return f"{hashlib.sha256(words.encode()).hexdigest()[:32]}@chordline"
