"""What is returned instead of a figure that a video does not carry."""

from dataclasses import dataclass
from typing import Literal

#: Codes, not sentences: words for the coach are made where the tongue is known.
Reason = Literal[
    "too-few-frames",
    "frame-rate-too-low",
    "never-in-shape",
    "never-still",
    "never-upright",
    "cannot-tell-the-shape",
    "body-lost",
    "too-short",
    "not-moved-in-the-picture",
]


@dataclass(frozen=True)
class Untold:
    """No figure, and why.

    Attributes
    ----------
    reason : Reason
    have, need : float or None
        What there is and what it would take, in the unit that the reason is about (frames, Hz,
        degrees, probability, share, s); None where the reason has no number.
    """

    reason: Reason
    have: float | None = None
    need: float | None = None
