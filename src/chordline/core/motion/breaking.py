"""When one measure first leaves its limit for longer than a flicker."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
import scipy  # its parts are loaded when they are used

from chordline.core.geometry.angles import Floats
from chordline.core.motion.crossing import Crossing, locate_crossing
from chordline.core.motion.hold import Where
from chordline.core.motion.shape import HoldRules, Stray
from chordline.core.motion.traces import Traces

_FIRST_STEPS = 2_001


@dataclass(frozen=True)
class Break:
    """A break that can be told.

    Attributes
    ----------
    where : Where
    when : Crossing
    sample : int
        First sample found outside.
    while_lost : bool
        The sample before it was not seen.
    """

    where: Where
    when: Crossing
    sample: int
    while_lost: bool


def find_break(traces: Traces, stray: Stray, rules: HoldRules, *, begin: int) -> Break | None:
    """Return the first break of one measure after the hold began, or None.

    Notes
    -----
    Told from a sample that is rather outside than not, when over the shortest break the mean
    probability of being outside reaches the certainty, no sample comes back within `enter`, and
    half of the samples are seen.
    """
    count = traces.samples(rules.shortest_break_s)
    p = stray.p_outside
    if len(p) - begin < count:
        return None
    seen = np.isfinite(p)
    windows = np.lib.stride_tricks.sliding_window_view
    total = windows(np.where(seen, p, 0.0), count).sum(axis=-1)
    known = windows(seen, count).sum(axis=-1)
    back = windows(stray.is_within, count).any(axis=-1)
    mean = total / np.maximum(known, 1)
    starts = len(mean)
    out = np.where(seen, p, 0.0)[:starts] >= 0.5
    told = out & (mean >= rules.certainty) & ~back & (2 * known >= count)
    told[:begin] = False
    if not told.any():
        return None
    sample = int(np.argmax(told))
    side: Literal[-1, 1] = 1 if stray.off[sample] > 0.0 else -1
    lost_before = sample > begin and not seen[sample - 1]
    beyond = side * stray.off - stray.limit.leave
    beyond[:begin] = np.nan
    when = locate_crossing(
        traces.t_s,
        beyond,
        random_sd=stray.random_sd,
        common_sd=stray.common_sd,
        correlation=traces.correlation,
        near=sample,
    )
    if lost_before:
        last_seen = float(traces.t_s[begin + np.flatnonzero(seen[begin:sample])[-1]])
        back_at = float(traces.t_s[sample])
        # Anywhere in the gap alike.
        when = Crossing(0.5 * (last_seen + back_at), last_seen, max(back_at, when.high_s))
    return Break(Where(stray.limit.measure, side), when, sample, lost_before)


def share_first(breaks: Sequence[Break]) -> dict[Where, float]:
    """Return how likely each break was the first, their times taken as independent Gaussians."""
    if not breaks:
        return {}
    at = np.array([one.when.at_s for one in breaks])
    sd = np.maximum(np.array([one.when.sd_s for one in breaks]), 1e-3)
    grid = np.linspace((at - 5.0 * sd).min(), (at + 5.0 * sd).max(), _FIRST_STEPS)
    done: Floats = scipy.special.ndtr((grid[:, None] - at) / sd)
    left = 1.0 - done
    others = np.stack([np.delete(left, i, axis=1).prod(axis=1) for i in range(len(at))], axis=1)
    share = (np.diff(done, axis=0) * 0.5 * (others[1:] + others[:-1])).sum(axis=0)
    share = share / share.sum()
    return {one.where: float(p) for one, p in zip(breaks, share, strict=True)}
