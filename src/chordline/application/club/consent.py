"""What a family's words allow on a day, and when a picture has to go.

Decided here alone. Whether local rules allow photographs of children at all is decided before, and
by others.
"""

from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Final, Literal

from chordline.application.club.records import Consent
from chordline.application.days import day_in_words
from chordline.catalogue.schema import Catalogue
from chordline.errors import RefusedInputError

Stand = Literal["not_asked", "holds", "ended"]

#: How the reason of a photo begins that waits for the family.
NOT_ALLOWED: Final = "Her family does not allow measuring her"


@dataclass(frozen=True)
class ConsentRules:
    """How long what may wait; days.

    Attributes
    ----------
    must_be_said : bool
        Whether nothing is measured before the family was asked.
    correct_days : int
        How long a measured picture that may not be kept stays, so that marks can be corrected.
    unmeasured_days : int
        How long a picture stays that may not be measured.
    grace_days : int
        How long pictures stay after a consent has run out.
    remind_days : int
        How long before its end a consent is named.
    """

    must_be_said: bool
    correct_days: int
    unmeasured_days: int
    grace_days: int
    remind_days: int


def rules_of(catalogue: Catalogue) -> ConsentRules:
    """Return the rules of a catalogue."""
    days = {
        name: int(catalogue.setting(f"consent_{name}"))
        for name in ("correct_days", "unmeasured_days", "grace_days", "remind_days")
    }
    return ConsentRules(must_be_said=catalogue.setting("consent_must_be_said") > 0.0, **days)


@dataclass(frozen=True)
class Allowed:
    """What is allowed on a day.

    Attributes
    ----------
    stand : {'not_asked', 'holds', 'ended'}
    measure, keep_pictures, show_to_squad : bool
    told : tuple of str
        What follows, in sentences.
    """

    stand: Stand
    measure: bool
    keep_pictures: bool
    show_to_squad: bool
    told: tuple[str, ...]


def stand_of(consent: Consent, day: date) -> Stand:
    """Return whether a consent holds on a day, has ended, or nobody was asked."""
    anything = consent.measure or consent.keep_pictures or consent.show_to_squad
    if not anything and consent.said_on is None:
        return "not_asked"
    return "holds" if consent.holds_on(day) else "ended"


def allowed_on(consent: Consent, day: date, rules: ConsentRules) -> Allowed:
    """Return what is allowed on a day.

    Where nobody was asked, pictures stay and nothing is shown to others; measuring goes on unless
    the rules say that a family must have said yes. What has ended allows nothing new.
    """
    stand = stand_of(consent, day)
    if stand == "not_asked":
        told = (
            "The family was not asked yet, so nothing is measured: ask, and write it down."
            if rules.must_be_said
            else "The family was not asked yet: ask, and write it down. Until then her pictures "
            "are measured and kept here, and shown to nobody else."
        )
        return Allowed(stand, not rules.must_be_said, True, False, (told,))
    if stand == "ended":
        return Allowed(stand, False, False, False, (_ended(consent, rules),))
    return Allowed(
        stand,
        consent.measure,
        consent.keep_pictures,
        consent.show_to_squad,
        (
            "Measuring her is allowed."
            if consent.measure
            else "Measuring her is not allowed. New photos and videos of hers are not measured.",
            "Pictures may be kept."
            if consent.keep_pictures
            else "Pictures may not be kept. Each is deleted once its marks are looked at, "
            f"at the latest after {rules.correct_days} days; marks and measures stay.",
            "Her pictures may be shown to the squad, with the face hidden."
            if consent.show_to_squad
            else "Her pictures may not be shown to the squad. Sheets for others show her line "
            "alone.",
        ),
    )


def _ended(consent: Consent, rules: ConsentRules) -> str:
    until = consent.until or date.min
    gone = until + timedelta(days=rules.grace_days + 1)
    return (
        f"What the family allowed ran out on {day_in_words(until)}: nothing new of hers is "
        f"measured, and her pictures are deleted on {day_in_words(gone)} unless it is renewed."
    )


def why_not_measured(consent: Consent, day: date, rules: ConsentRules) -> str | None:
    """Return why nothing of hers is measured on a day, and what to do; None where it may be."""
    allowed = allowed_on(consent, day, rules)
    if allowed.measure:
        return None
    because = {
        "not_asked": " yet: nobody asked",
        "ended": " any more: what it allowed has run out",
        "holds": "",
    }[allowed.stand]
    return (
        f"{NOT_ALLOWED}{because}. Ask the family and write down what it says on her record, or "
        "say whose photo it is; its picture is deleted after "
        f"{rules.unmeasured_days} days otherwise"
    )


class NotAllowedError(RefusedInputError):
    """A photo or video of somebody whose family does not allow measuring."""


def check_measuring(consent: Consent, day: date, rules: ConsentRules) -> None:
    """Raise `NotAllowedError` where nothing of hers may be measured on a day."""
    why = why_not_measured(consent, day, rules)
    if why is not None:
        raise NotAllowedError(why)


@dataclass(frozen=True)
class KeptPicture:
    """What decides how long a picture or video of hers stays.

    Attributes
    ----------
    received_on : date
    measured : bool
        Whether measuring came to an end, well or not.
    checked : bool
        Whether somebody looked at it and found it right.
    """

    received_on: date
    measured: bool
    checked: bool = False


def goes_on(consent: Consent, kept: KeptPicture, day: date, rules: ConsentRules) -> date | None:
    """Return the first day on which a picture may be here no more; None where it may stay.

    Parameters
    ----------
    consent : Consent
    kept : KeptPicture
    day : date
        The day on which it is asked.
    rules : ConsentRules

    Notes
    -----
    What was there before the family spoke is never deleted at once: a wrong click on her record
    must not cost pictures of years.
    """
    stand = stand_of(consent, day)
    if stand == "not_asked":
        if not rules.must_be_said or kept.measured:
            return None
        return kept.received_on + timedelta(days=rules.unmeasured_days)
    if stand == "ended" and consent.until is not None:
        return consent.until + timedelta(days=rules.grace_days + 1)
    return _goes_while_it_holds(consent, kept, rules)


def _goes_while_it_holds(consent: Consent, kept: KeptPicture, rules: ConsentRules) -> date | None:
    said_on = consent.said_on or kept.received_on
    since = max(kept.received_on, said_on)
    waits = not kept.measured
    if consent.keep_pictures and (consent.measure or kept.measured):
        return None
    if kept.checked and kept.received_on >= said_on:
        return kept.received_on
    # What waits is not allowed to be measured, or its turn has not come.
    return since + timedelta(days=rules.unmeasured_days if waits else rules.correct_days)


def ends_soon(consent: Consent, day: date, rules: ConsentRules) -> bool:
    """Return whether a consent that holds ends within the days of the reminder."""
    if consent.until is None or stand_of(consent, day) != "holds":
        return False
    return consent.until <= day + timedelta(days=rules.remind_days)


def as_said(before: Consent, after: Consent, day: date) -> Consent:
    """Return what stands after a change, with the day on which it was said.

    Whoever changes what is allowed, and names no day, was told today: three ticks taken away are a
    family's no, not a family that nobody asked.
    """

    def words(one: Consent) -> tuple[bool, bool, bool, date | None]:
        return one.measure, one.keep_pictures, one.show_to_squad, one.until

    named = after.said_on is not None and after.said_on != before.said_on
    if named or words(before) == words(after):
        return after
    return replace(after, said_on=day)
