"""Finding the holds of a video."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from chordline.core.estimate import Estimate
from chordline.core.geometry.angles import Floats
from chordline.core.motion.breaking import Break, find_break, share_first
from chordline.core.motion.crossing import SD_90, average_evenly
from chordline.core.motion.drift import measure_drift
from chordline.core.motion.hold import Doubt, Hold
from chordline.core.motion.onset import Readiness, find_readiness, stray_from
from chordline.core.motion.shape import HoldRules, ShapeLimit, Stray
from chordline.core.motion.traces import Traces
from chordline.core.motion.untold import Untold

#: Below it a probability counts as no, in the ends of 90 % intervals.
_HARDLY = 0.05


def find_hold(traces: Traces, limits: Sequence[ShapeLimit], rules: HoldRules) -> Hold | Untold:
    """Return the longest hold of a video, or why there is none.

    Parameters
    ----------
    traces : Traces
        With all measures of the limits.
    limits : sequence of ShapeLimit
        At least one.
    rules : HoldRules

    Raises
    ------
    KeyError
        When a limit's measure has no trace.
    """
    found = find_holds(traces, limits, rules)
    if isinstance(found, Untold):
        return found
    return max(found, key=lambda one: one.seconds)


def find_holds(
    traces: Traces, limits: Sequence[ShapeLimit], rules: HoldRules
) -> tuple[Hold, ...] | Untold:
    """Return all holds of a video in their order; parameters as for `find_hold`."""
    if not limits:
        raise ValueError("without a limit nothing says what in shape means")
    ready = find_readiness(traces, limits, rules)
    both = ready.in_shape & ready.still
    seen = _all_seen(traces, limits)
    if not both.any():
        return _say_why_none(ready, seen, traces, rules)
    holds: list[Hold] = []
    refused: Untold | None = None
    start = 0
    while start < len(both) and both[start:].any():
        begin = start + int(np.argmax(both[start:]))
        strays = [stray_from(traces, limit, rules, begin=begin) for limit in limits]
        told = [find_break(traces, stray, rules, begin=begin) for stray in strays]
        breaks = sorted((one for one in told if one), key=lambda one: one.when.at_s)
        outcome = _refuse(strays, seen, rules, traces, begin=begin, breaks=breaks)
        if outcome is None:
            holds.append(_describe(traces, strays, rules, seen, begin=begin, breaks=breaks))
        else:
            refused = outcome
        if not breaks:
            break
        start = max(breaks[0].sample, begin) + traces.samples(rules.shortest_break_s)
    if holds:
        return tuple(holds)
    return refused or Untold("never-in-shape")


def _all_seen(traces: Traces, limits: Sequence[ShapeLimit]) -> NDArray[np.bool_]:
    values = np.stack([traces.of[limit.measure].value for limit in limits])
    return np.asarray(np.isfinite(values).all(axis=0))


def _say_why_none(
    ready: Readiness, seen: NDArray[np.bool_], traces: Traces, rules: HoldRules
) -> Untold:
    lost = 1.0 - float(seen.mean()) if len(seen) else 1.0
    if len(seen) < traces.samples(rules.settle_s):
        return Untold("too-short", len(seen) / traces.rate_hz, rules.settle_s)
    if not ready.in_shape.any() and not ready.still.any() and lost > rules.most_lost_share:
        return Untold("body-lost", lost, rules.most_lost_share)
    return Untold("never-still" if ready.in_shape.any() else "never-in-shape")


def _last_seen(seen: NDArray[np.bool_], begin: int) -> int:
    return begin + int(np.flatnonzero(seen[begin:])[-1])


def _end(breaks: Sequence[Break], seen: NDArray[np.bool_], begin: int) -> int:
    return breaks[0].sample if breaks else _last_seen(seen, begin)


def _refuse(
    strays: Sequence[Stray],
    seen: NDArray[np.bool_],
    rules: HoldRules,
    traces: Traces,
    *,
    begin: int,
    breaks: Sequence[Break],
) -> Untold | None:
    """Return why a hold cannot be told, or None where it can."""
    lost = 1.0 - float(seen[begin : _end(breaks, seen, begin) + 1].mean())
    if lost > rules.most_lost_share:
        return Untold("body-lost", lost, rules.most_lost_share)
    count = traces.samples(rules.settle_s)
    inside = min(1.0 - float(one.p_outside[begin : begin + count].mean()) for one in strays)
    if inside < rules.certainty:
        return Untold("cannot-tell-the-shape", inside, rules.certainty)
    return None


def _describe(
    traces: Traces,
    strays: Sequence[Stray],
    rules: HoldRules,
    seen: NDArray[np.bool_],
    *,
    begin: int,
    breaks: Sequence[Break],
) -> Hold:
    t = traces.t_s
    end = _end(breaks, seen, begin)
    began, began_sd = float(t[begin]), _onset_sd(traces, strays, rules, begin)
    doubts: list[Doubt] = []
    if not seen[:begin].any():
        doubts.append("begun-before-the-video")
    p_end = 0.0
    high: float | None = None
    if breaks:
        first = breaks[0]
        at, low, high = first.when.at_s, first.when.low_s, first.when.high_s
        if first.while_lost:
            doubts.append("broke-while-lost")
        if high >= t[_last_seen(seen, begin)]:
            doubts.append("end-not-seen")
    else:
        at = float(t[end])
        p_end, low = _plausible_to_the_end(traces, strays, rules, begin=begin, end=end)
        if p_end > 1.0 - rules.certainty:
            doubts.append("near-the-limit")
    gap = _first_long_gap(seen[begin : end + 1], traces.samples(rules.shortest_break_s))
    if gap is not None:
        doubts.append("lost-in-the-hold")
        low = min(low, float(t[begin + gap]))
    low = float(np.clip(low, began, at))
    upper = at if high is None else high
    spread = (upper - low) / (2.0 * SD_90)
    until = max(begin, int(np.searchsorted(t, low, side="right")) - 1)
    where_p = share_first(breaks)
    return Hold(
        began_at_s=began,
        began_sd_s=began_sd,
        seconds=at - began,
        sd=float(np.hypot(spread, began_sd)),
        low_s=max(0.0, at - began - float(np.hypot(at - low, SD_90 * began_sd))),
        high_s=None if high is None else at - began + float(np.hypot(high - at, SD_90 * began_sd)),
        broke_at_s=at if breaks else None,
        where=breaks[0].where if breaks else None,
        where_p=where_p,
        reached_cap=not breaks,
        p_broken_at_end=p_end,
        drift=_drifts(traces, strays, first=begin, last=until),
        lost_share=1.0 - float(seen[begin : end + 1].mean()),
        doubts=tuple(doubts),
    )


def _drifts(
    traces: Traces, strays: Sequence[Stray], *, first: int, last: int
) -> dict[str, Estimate]:
    names = dict.fromkeys(stray.limit.measure for stray in strays)
    slopes = {
        name: measure_drift(traces, traces.of[name], first=first, last=last) for name in names
    }
    return {name: slope for name, slope in slopes.items() if slope is not None}


def _onset_sd(traces: Traces, strays: Sequence[Stray], rules: HoldRules, begin: int) -> float:
    """Return the sd of the moment of beginning: half of what ± 1 sd of the noise makes of it."""
    limits = [one.limit for one in strays]
    moments = []
    for lean in (-1.0, 1.0):
        ready = find_readiness(traces, limits, rules, lean=lean)
        could = np.flatnonzero(ready.in_shape & ready.still)
        # The nearest beginning to the one told: others belong to other holds.
        moments.append(traces.t_s[could[np.argmin(np.abs(could - begin))]] if len(could) else None)
    known = [float(one) for one in moments if one is not None]
    width = max(known) - min(known) if len(known) == 2 else 0.0
    return max(0.5 * width, 0.5 / traces.rate_hz)


def _plausible_to_the_end(
    traces: Traces, strays: Sequence[Stray], rules: HoldRules, *, begin: int, end: int
) -> tuple[float, float]:
    """Return P(outside) at the end, and the last time at which that was hardly so."""
    half = traces.samples(rules.shortest_break_s) // 2
    outside: Floats = np.max(
        [np.nan_to_num(one.p_outside[begin : end + 1]) for one in strays], axis=0
    )
    steady = average_evenly(outside, half)
    at_end = float(outside[-2 * half - 1 :].mean())
    hardly = np.flatnonzero(steady <= _HARDLY)
    if at_end <= _HARDLY:
        return at_end, float(traces.t_s[end])
    return at_end, float(traces.t_s[begin + (hardly[-1] if len(hardly) else 0)])


def _first_long_gap(seen: NDArray[np.bool_], longest: int) -> int | None:
    """Return the first sample of a gap of more than so many samples."""
    run = 0
    for i, one in enumerate(seen):
        run = 0 if one else run + 1
        if run > longest:
            return i - run + 1
    return None
