"""Words before numbers: how far a shape is from the line, and whether we can tell."""

from enum import Enum
from typing import Literal

import scipy  # its parts are loaded when they are used


class Verdict(Enum):
    """The four things that chordline says about a shape."""

    ON_THE_LINE = "on the line"
    CLOSE = "close"
    SHORT = "short of the line"
    CANNOT_TELL = "cannot tell yet"


Sense = Literal["closing", "opening", "both"]


def judge(
    value: float, *, sd: float, sense: Sense, on_line: float, close: float, certainty: float
) -> Verdict:
    """Return the word that a measure deserves.

    Parameters
    ----------
    value : float
        Distance from the aligned shape, signed, in any unit.
    sd : float
        Its total error, same unit, > 0.
    sense : Sense
        Which side is short of the line: negative values (``closing``), positive values
        (``opening``) or both.
    on_line, close : float
        Largest shortfall that still counts as on the line, and as close; same unit.
    certainty : float
        Smallest probability (0.5 to 1) with which a word is said.

    Returns
    -------
    Verdict
        The likeliest of the three words, or CANNOT_TELL where none reaches `certainty`.

    Examples
    --------
    >>> judge(-24.0, sd=3.0, sense="closing", on_line=5.0, close=12.0, certainty=0.6)
    <Verdict.SHORT: 'short of the line'>
    """

    def p_within(limit: float) -> float:
        below = scipy.special.ndtr((limit - value) / sd) if sense != "closing" else 1.0
        above = scipy.special.ndtr((limit + value) / sd) if sense != "opening" else 1.0
        return float(below + above - 1.0)

    chances = {
        Verdict.ON_THE_LINE: p_within(on_line),
        Verdict.CLOSE: p_within(close) - p_within(on_line),
        Verdict.SHORT: 1.0 - p_within(close),
    }
    word, chance = max(chances.items(), key=lambda item: item[1])
    return word if chance >= certainty else Verdict.CANNOT_TELL
