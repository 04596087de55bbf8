"""What a drawing of one body line needs to know: the marks, the chord and the word said of it."""

from dataclasses import dataclass

from chordline.core.body.measurement import Measurement
from chordline.core.body.verdict import Verdict


@dataclass(frozen=True)
class DrawnLine:
    """One body line, whatever size it is drawn at.

    Attributes
    ----------
    title : str
        The test in words.
    measurement : Measurement
    chord : tuple of str
        The landmarks along the body from the chord's first to its last.
    bow : Verdict or None
        What was said of the whole line's largest bow; None where nothing was.
    """

    title: str
    measurement: Measurement
    chord: tuple[str, ...]
    bow: Verdict | None
