"""What one frame is answered with."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from chordline.conventions import Front, Side
from chordline.core.motion.live import Tone

#: Why the shape is not told.
Reason = Literal[
    "nobody",
    "hidden",
    "not-in-position",
    "two-people",
    "too-small",
    "cut-off",
    "which-side",
    "turned-over",
    "settling",
]


@dataclass(frozen=True)
class LiveMeasure:
    """One angle in large type.

    Attributes
    ----------
    name, label, words : str
    value, plus_minus : float
        ± holds the true value 19 times in 20.
    unit : str
    tone : Tone or None
        None where the test says no word about it.
    """

    name: str
    label: str
    words: str
    value: float
    plus_minus: float
    unit: str
    tone: Tone | None


@dataclass(frozen=True)
class LiveTold:
    """The answer to one frame.

    Attributes
    ----------
    headline : str
        The shape in a word, or what to do.
    look_at : str
        What stands farthest from the shape; empty where nothing does.
    tone : Tone
        Of the whole shape; 'unknown' wherever there is a reason.
    reason : Reason or None
        Why the shape is not told; the line may be drawn all the same.
    landmarks : mapping of landmark to (x, y), 0 to 1 of the frame
        Of the near side; empty where she is not followed.
    chord : tuple of str
        Landmarks along the body from the chord's first end to its last.
    near_side : Side or None
    front : Front or None
        To where the belly faces in the picture.
    side_origin : str
        'given', 'test', 'guessed', or empty.
    measures : tuple of LiveMeasure
    """

    headline: str
    look_at: str
    tone: Tone
    reason: Reason | None
    landmarks: Mapping[str, tuple[float, float]]
    chord: tuple[str, ...]
    near_side: Side | None
    front: Front | None
    side_origin: str
    measures: tuple[LiveMeasure, ...]
