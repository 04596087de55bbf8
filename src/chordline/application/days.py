"""Days as a coach reads them."""

from collections.abc import Sequence
from datetime import date

_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def day_in_words(day: date) -> str:
    """Return a day as a coach reads it, e.g. ``3 Sep 2025``."""
    return f"{day.day} {_MONTHS[day.month - 1]} {day.year}"


def age_on(day: date, born: date) -> int:
    """Return an age in whole years."""
    return day.year - born.year - ((day.month, day.day) < (born.month, born.day))


def days_in_words(days: Sequence[date]) -> str:
    """Return the day of all screens, or the first and the last of them."""
    if not days:
        return ""
    first, last = min(days), max(days)
    if first == last:
        return day_in_words(first)
    return f"latest screens, {day_in_words(first)} to {day_in_words(last)}"
