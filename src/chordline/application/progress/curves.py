"""A capacity's curve between and after the screens."""

from collections.abc import Sequence
from datetime import date

import numpy as np

from chordline.application.progress.told import CurvePoint
from chordline.core.geometry.angles import Floats
from chordline.core.progress.smoother import Curve
from chordline.core.progress.timeline import ProgressModel, Timeline

#: Places between two screens: enough for the band to look round.
_BETWEEN = 5


def curves_of(
    model: ProgressModel,
    timeline: Timeline,
    curve: Curve,
    *,
    measured: Sequence[Sequence[bool]],
    until: date,
    growth_now: float,
) -> tuple[tuple[CurvePoint, ...], ...]:
    """Return the points of every capacity.

    Parameters
    ----------
    model : ProgressModel
    timeline : Timeline
        The one that was smoothed.
    curve : Curve
    measured : (t, n) sequence of bool
        Whether a screen measured a capacity.
    until : date
        The band opens after the latest screen up to this day.
    growth_now : float
        By how much growth multiplies the wander after it.

    Notes
    -----
    Between two screens a wander is tied at both ends: its mean is straight between them, its
    variance is that of the weighted ends and q·s·(1 − s), with q what the whole interval adds.
    """
    t, n = curve.mean.shape
    sd = curve.sd
    days: list[float] = []
    means: list[Floats] = []
    sds: list[Floats] = []
    screens: list[int | None] = []
    for i in range(t):
        days.append(curve.days[i])
        means.append(curve.mean[i])
        sds.append(sd[i])
        screens.append(i)
        if i == t - 1:
            break
        q, shared = timeline.wander(model, i), np.diag(curve.shared(i, i + 1))
        for s in np.linspace(0.0, 1.0, _BETWEEN + 2)[1:-1]:
            ends = ((1 - s) * sd[i]) ** 2 + (s * sd[i + 1]) ** 2 + 2 * s * (1 - s) * shared
            days.append(curve.days[i] + s * (curve.days[i + 1] - curve.days[i]))
            means.append((1 - s) * curve.mean[i] + s * curve.mean[i + 1])
            sds.append(np.sqrt(np.clip(ends + q * s * (1 - s), 0.0, None)))
            screens.append(None)
    since = until.toordinal() - curve.days[-1]
    for s in np.linspace(0.0, 1.0, _BETWEEN + 1)[1:] if since > 0 else ():
        days.append(curve.days[-1] + s * since)
        means.append(curve.mean[-1])
        wandered = model.wander_variance_per_day * growth_now * s * since
        sds.append(np.sqrt(sd[-1] ** 2 + wandered))
        screens.append(None)
    return tuple(
        tuple(
            CurvePoint(
                date.fromordinal(round(day)),
                float(mean[k]),
                float(spread[k]),
                None if at is None else bool(measured[at][k]),
            )
            for day, mean, spread, at in zip(days, means, sds, screens, strict=True)
        )
        for k in range(n)
    )
