"""A gymnast's age, sizes and consent in words."""

from collections.abc import Sequence
from datetime import date

from chordline.application.club.apply_consent import Dropped
from chordline.application.club.consent import ConsentRules, allowed_on
from chordline.application.club.records import BodySize, Consent
from chordline.application.days import age_on, day_in_words

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


def consent_in_words(consent: Consent, today: date, rules: ConsentRules) -> tuple[str, ...]:
    """Return what is allowed and what follows, in sentences, and who said so."""
    allowed = allowed_on(consent, today, rules)
    said = list(allowed.told)
    if allowed.stand == "holds" and consent.until is not None:
        said.append(f"This holds until {day_in_words(consent.until)}.")
    if consent.said_on is not None:
        by = f" by {consent.said_by}" if consent.said_by else ""
        said.append(f"Said{by} on {day_in_words(consent.said_on)}.")
    if consent.note:
        said.append(consent.note if consent.note.endswith(".") else f"{consent.note}.")
    return tuple(said)


def pictures_that_go(going: Sequence[Dropped]) -> str:
    """Return how many pictures and videos of hers are to be deleted, and when the first one is."""
    if not going:
        return ""
    count = len(going)
    first = day_in_words(min(one.goes_on for one in going))
    if count == 1:
        return f"One picture or video of hers will be deleted on {first}."
    return f"{count} pictures and videos of hers will be deleted, the first on {first}."
