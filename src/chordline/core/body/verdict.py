"""Words before numbers: how far a shape is from the line, and whether we can tell."""

from enum import Enum

from scipy.stats import norm


class Verdict(Enum):
    """The four things that chordline says about a shape."""

    ON_THE_LINE = "on the line"
    CLOSE = "close"
    SHORT = "short of the line"
    CANNOT_TELL = "cannot tell yet"


def judge(
    shortfall: float, *, sd: float, on_line: float, close: float, certainty: float
) -> Verdict:
    """Return the word that a shortfall deserves.

    Parameters
    ----------
    shortfall : float
        What is missing to the aligned shape, in any unit; positive = missing.
    sd : float
        Its total error, same unit, > 0.
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
    >>> judge(24.0, sd=3.0, on_line=5.0, close=12.0, certainty=0.6)
    <Verdict.SHORT: 'short of the line'>
    """
    p_on_line = float(norm.cdf((on_line - shortfall) / sd))
    p_at_most_close = float(norm.cdf((close - shortfall) / sd))
    chances = {
        Verdict.ON_THE_LINE: p_on_line,
        Verdict.CLOSE: p_at_most_close - p_on_line,
        Verdict.SHORT: 1.0 - p_at_most_close,
    }
    word, chance = max(chances.items(), key=lambda item: item[1])
    return word if chance >= certainty else Verdict.CANNOT_TELL
