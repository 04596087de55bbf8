"""What is returned instead of a figure that the data do not carry."""

from dataclasses import dataclass
from typing import Literal

#: Codes, not sentences: words for the coach are made where the tongue is known.
Reason = Literal[
    "too-few-subjects",
    "too-few-raters",
    "too-few-pairs",
    "no-spread",
    "one-photo-a-test",
    "one-coach",
    "marked-once",
    "born-after-the-day",
    "sex-not-said",
    "not-measured",
    "impossible-size",
    "age-below-table",
    "age-above-table",
    "one-measurement",
    "too-close-together",
    "too-far-apart",
    "stature-shrank",
]


@dataclass(frozen=True)
class Abstained:
    """No figure, and why.

    Attributes
    ----------
    reason : Reason
    have, need : float or None
        What there is and what it would take, in the unit that the reason is about (count, years,
        months, cm); None where the reason has no number.
    """

    reason: Reason
    have: float | None = None
    need: float | None = None
