"""A gymnast's age, sizes and consent in words."""

from collections.abc import Sequence
from datetime import date

from chordline.application.club.records import BodySize, Consent
from chordline.application.days import age_on, day_in_words

NOT_SAID = "The family has not said anything yet."
_SIZES = (
    ("stature_cm", "Stature", "cm"),
    ("mass_kg", "Mass", "kg"),
    ("sitting_height_cm", "Sitting height", "cm"),
)


def age_in_words(birth_date: date, today: date) -> str:
    """Return an age in whole years."""
    return f"{age_on(today, birth_date)} years"


def latest_sizes(sizes: Sequence[BodySize]) -> tuple[tuple[str, str, date], ...]:
    """Return (what, how much, measured when) of every size that was ever measured."""
    told = []
    for name, label, unit in _SIZES:
        for one in sorted(sizes, key=lambda size: size.taken_on, reverse=True):
            value = getattr(one, name)
            if value is not None:
                told.append((label, f"{value:g} {unit}", one.taken_on))
                break
    return tuple(told)


def consent_in_words(consent: Consent, today: date) -> tuple[str, ...]:
    """Return sentences; one where nothing was said, or where it has run out."""
    if consent == Consent():
        return (NOT_SAID,)
    if consent.until is not None and not consent.holds_on(today):
        until = day_in_words(consent.until)
        return (f"What the family allowed ran out on {until}; ask again.",)
    allowed = (
        (consent.measure, "Measuring her is allowed.", "Measuring her is not allowed."),
        (consent.keep_pictures, "Pictures may be kept.", "Pictures may not be kept."),
        (
            consent.show_to_squad,
            "Her line may be shown to the squad.",
            "Her line may not be shown to the squad.",
        ),
    )
    said = tuple(yes if allows else no for allows, yes, no in allowed)
    if consent.until is None:
        return said
    return (*said, f"This holds until {day_in_words(consent.until)}.")
