"""Which backups are kept: days, weeks and months, the latest of each."""

from collections.abc import Callable, Iterable
from datetime import datetime, tzinfo

from chordline.application.backup.records import Keep

_ALWAYS = 3


def to_keep(made: Iterable[datetime], keep: Keep, zone: tzinfo | None = None) -> set[datetime]:
    """Return the moments of the backups that stay.

    Parameters
    ----------
    made : iterable of datetime
        Aware.
    keep : Keep
        So many days, weeks and months that have a backup, counted from the latest.
    zone : tzinfo, optional
        Where a day begins; this machine's own where not given.

    Notes
    -----
    The latest of a day, week or month stands for it. The latest three always stay: one that was
    made before a wrong click must not make room for one that was made after it.
    """
    latest_first = sorted(set(made), reverse=True)
    periods: tuple[tuple[int, Callable[[datetime], object]], ...] = (
        (keep.daily, lambda at: at.date()),
        (keep.weekly, lambda at: at.isocalendar()[:2]),
        (keep.monthly, lambda at: (at.year, at.month)),
    )
    stay = set(latest_first[:_ALWAYS])
    for count, period in periods:
        seen: dict[object, datetime] = {}
        for at in latest_first:
            seen.setdefault(period(at.astimezone(zone)), at)
        stay.update(list(seen.values())[:count])
    return stay
