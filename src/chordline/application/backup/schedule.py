"""When the next backup is due."""

from datetime import datetime, time, timedelta

#: After a failure, a full disk for example, it is tried again so much later (assumption).
_AGAIN_AFTER = timedelta(hours=1)


def is_due(
    now: datetime,
    daily_at: time | None,
    *,
    last_made: datetime | None,
    failed_at: datetime | None = None,
) -> bool:
    """Return whether a backup should be made now.

    Parameters
    ----------
    now : datetime
        Aware, on the clock of the gym.
    daily_at : time or None
        On the same clock; None = only when told to.
    last_made, failed_at : datetime or None
        When the last backup was made, and when one last failed since.

    Notes
    -----
    One that was missed, because the machine was off, is made at once. A clock that was set back
    leaves a last backup in the future: then the next planned moment counts again.
    """
    if daily_at is None:
        return False
    if failed_at is not None and timedelta(0) <= now - failed_at < _AGAIN_AFTER:
        return False
    planned = planned_before(now, daily_at)
    return last_made is None or last_made < planned or last_made > now + timedelta(days=1)


def planned_before(now: datetime, daily_at: time) -> datetime:
    """Return the latest planned moment that is not after `now`."""
    planned = now.replace(hour=daily_at.hour, minute=daily_at.minute, second=0, microsecond=0)
    return planned if planned <= now else planned - timedelta(days=1)
