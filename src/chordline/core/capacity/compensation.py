"""Compensations: what else in the body changed between a test and its base test."""

from dataclasses import dataclass

import numpy as np
import scipy  # its parts are loaded when they are used

from chordline.core.capacity.observed import Observed


@dataclass(frozen=True)
class Compensation:
    """A change that is larger than error.

    Attributes
    ----------
    test, base, measure : str
    change, sd : float
        Test minus base, in the measure's unit.
    test_source, base_source : str
        The two photos.
    """

    test: str
    base: str
    measure: str
    change: float
    sd: float
    test_source: str
    base_source: str


def find_compensations(
    test: Observed,
    base: Observed,
    *,
    watched: tuple[str, ...],
    repeat_sd: dict[str, float],
    confidence: float,
) -> tuple[Compensation, ...]:
    """Return the watched measures that changed beyond error between a base test and a test.

    Parameters
    ----------
    test, base : Observed
        Two takes of one screen. Their covariances hold what differs from take to take; offsets
        that both share (how a joint is defined, the same marks) cancel and must not be in them.
    watched : tuple of str
        Measures that should stay as they were.
    repeat_sd : dict of measure to float
        What she herself changes when a test is repeated.
    confidence : float
        Two-sided; 0.95 calls one change in twenty by chance.

    Notes
    -----
    Called when |change| > z · √(var(test) + var(base) + 2·repeat²).
    """
    limit = float(scipy.special.ndtri(0.5 + confidence / 2.0))
    found = []
    for name in watched:
        if name not in test.names or name not in base.names:
            continue
        change = test.value(name) - base.value(name)
        repeat = repeat_sd.get(name, 0.0)
        sd = float(np.sqrt(test.variance(name) + base.variance(name) + 2.0 * repeat**2))
        if np.isfinite(change) and sd > 0.0 and abs(change) > limit * sd:
            found.append(
                Compensation(test.test, base.test, name, change, sd, test.source, base.source)
            )
    return tuple(found)
