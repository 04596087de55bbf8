"""What 'in shape' means for a hold, and how sure each sample of a trace is about it."""

from dataclasses import dataclass
from typing import Literal

import numpy as np
import scipy  # its parts are loaded when they are used
from numpy.typing import NDArray

from chordline.core.body.verdict import Sense
from chordline.core.geometry.angles import Floats


@dataclass(frozen=True)
class ShapeLimit:
    """How far one measure may stray while the hold counts.

    Attributes
    ----------
    measure : str
    enter, leave : float
        Largest stray, in the measure's unit, within which the hold may begin, and beyond which the
        shape is broken. Between them nothing changes. 0 ≤ enter ≤ leave.
    still_per_s : float
        Fastest change of the measure that still counts as holding still [unit / s].
    sense : Sense
        Which strays count: negative ones (``closing``), positive ones (``opening``) or both.
    against : 'line' or 'start'
        From the aligned shape, or from her own shape when the hold began.
    aligned : float
        The measure's value in the aligned shape.
    """

    measure: str
    enter: float
    leave: float
    still_per_s: float
    sense: Sense = "both"
    against: Literal["line", "start"] = "line"
    aligned: float = 0.0

    def __post_init__(self) -> None:
        """Refuse limits that contradict each other."""
        if not 0.0 <= self.enter <= self.leave or not self.still_per_s > 0.0:
            raise ValueError(f"{self.measure}: the hold must begin within what it may not leave")


@dataclass(frozen=True)
class HoldRules:
    """When a hold begins, breaks, and cannot be told; all assumptions that a catalogue holds.

    Attributes
    ----------
    settle_s : float
        So long she must be in shape and still for the hold to begin; her own shape is the mean
        over this time.
    shortest_break_s : float
        What is over sooner is flicker.
    certainty : float
        Smallest probability, 0.5 to 1, with which a break is told.
    most_lost_share : float
        Largest share of the hold without landmarks.
    """

    settle_s: float
    shortest_break_s: float
    certainty: float
    most_lost_share: float

    def __post_init__(self) -> None:
        """Refuse rules that cannot be followed."""
        if not 0.5 <= self.certainty < 1.0 or not 0.0 <= self.most_lost_share < 1.0:
            raise ValueError("certainty is 0.5 to 1, the lost share 0 to 1")
        if not self.settle_s > 0.0 or not self.shortest_break_s > 0.0:
            raise ValueError("settling and the shortest break take time")


@dataclass(frozen=True)
class Stray:
    """How far a measure strays from its shape, each array (n,).

    Attributes
    ----------
    limit : ShapeLimit
    off : float array
        Signed, in the measure's unit; NaN where lost.
    random_sd, common_sd : float array
    """

    limit: ShapeLimit
    off: Floats
    random_sd: Floats
    common_sd: Floats

    @property
    def p_outside(self) -> Floats:
        """Probability that the stray is beyond `leave`; NaN where lost."""
        sd = np.maximum(np.hypot(self.random_sd, self.common_sd), 1e-12)
        above = scipy.special.ndtr((self.off - self.limit.leave) / sd)
        below = scipy.special.ndtr((-self.off - self.limit.leave) / sd)
        if self.limit.sense == "closing":
            return np.asarray(below)
        return np.asarray(above if self.limit.sense == "opening" else above + below)

    @property
    def is_within(self) -> NDArray[np.bool_]:
        """Whether the stray is at most `enter`, by its best value; False where lost."""
        return np.asarray(strays_by(self.limit, self.off) <= self.limit.enter)


def strays_by(limit: ShapeLimit, off: Floats) -> Floats:
    """Return the size of a signed stray on the side that counts; not above 0 on the other."""
    if limit.sense == "closing":
        return np.asarray(-off)
    return np.asarray(off if limit.sense == "opening" else np.abs(off))
