"""Writes iCalendar files: implements `CalendarWriter`."""

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta

from icalendar import Calendar, Event

from chordline.application.training.calendar import CalendarEntry


def write_ics(name: str, entries: Sequence[CalendarEntry], *, written_at: datetime) -> bytes:
    """Return an iCalendar file.

    Parameters
    ----------
    name : str
        What the calendar is called.
    entries : sequence of CalendarEntry
    written_at : datetime
        Aware; the same moment gives the same bytes.

    Notes
    -----
    Times are floating: they mean the clock on the wall wherever the calendar is opened, which is
    the gym's.

    References
    ----------
    RFC 5545, 3.3.5 (form 1), 3.8.7.2.
    """
    calendar = Calendar()
    calendar.add("prodid", "-//chordline//training//EN")
    calendar.add("version", "2.0")
    calendar.add("x-wr-calname", name)
    for one in entries:
        calendar.add_component(_event(one, written_at))
    return bytes(calendar.to_ical())


def _event(entry: CalendarEntry, written_at: datetime) -> Event:
    event = Event()
    event.add("uid", entry.uid)
    event.add("dtstamp", written_at.astimezone(UTC))
    event.add("summary", entry.title)
    if entry.words:
        event.add("description", entry.words)
    if entry.starts_at is None:
        event.add("dtstart", entry.day)
        event.add("dtend", entry.day + timedelta(days=1))
        event.add("transp", "TRANSPARENT")
    else:
        begins = datetime.combine(entry.day, entry.starts_at)
        event.add("dtstart", begins)
        event.add("dtend", begins + timedelta(minutes=entry.minutes or 0))
    return event
