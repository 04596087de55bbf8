"""When testing again is worth it: when a change worth knowing would be seen, or doubt has grown.

Two things call for another screen, whichever comes first:

- **change**: the work is expected to have taken off at least the smallest change worth knowing, and
  the same tests would show that with the wanted power;
- **doubt**: a capacity that was known has wandered for so long, faster while she grows, that she is
  known no better than before her first test.

Neither is waited for beyond a latest day, nor acted on before an earliest one.
"""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from chordline.core.capacity.model import Belief
from chordline.core.geometry.angles import Floats
from chordline.core.progress.change import ChangeRules
from chordline.core.progress.filter import Known
from chordline.core.progress.power import TrueChange, change_error, detection_power
from chordline.core.progress.timeline import ProgressModel
from chordline.core.progress.timeline_layout import Rows


class Why(StrEnum):
    """What calls for the re-test."""

    CHANGE = "a change worth knowing would be seen"
    DOUBT = "what was known has grown old"
    LATEST = "it is time in any case"


@dataclass(frozen=True)
class RetestRules:
    """Limits of re-testing.

    Attributes
    ----------
    earliest_days, latest_days : int
        After the last screen.
    power : float
        Probability with which the change should be seen.
    known_sd : (n,) float array
        Sd of each capacity's belief below which it counts as known [its unit].
    doubt_sd : (n,) float array
        Sd above which what was known is in doubt again [its unit].
    """

    earliest_days: int
    latest_days: int
    power: float
    known_sd: Floats
    doubt_sd: Floats


@dataclass(frozen=True)
class Work:
    """What the plan is expected to take off each shortfall a week.

    Attributes
    ----------
    gain_per_week, gain_per_week_sd : (n,) float array
        In the capacities' units; positive = the shortfall falls. The error of a rate is the same
        in every week.
    """

    gain_per_week: Floats
    gain_per_week_sd: Floats


@dataclass(frozen=True)
class Retest:
    """When to test again.

    Attributes
    ----------
    days : int
        After the last screen.
    why : Why
    capacity : str or None
        The one that calls for it; None where none does.
    power : float
        Probability that a change of one of the capacities worked on would be seen then: that of
        the likeliest.
    """

    days: int
    why: Why
    capacity: str | None
    power: float


def earliest_retest(
    model: ProgressModel,
    known: Known,
    planned: Rows,
    *,
    work: Work,
    changes: ChangeRules,
    rules: RetestRules,
    growth_factor: float = 1.0,
) -> Retest:
    """Return when to test a gymnast again.

    Parameters
    ----------
    model : ProgressModel
    known : Known
        What is known of her, with an eye on the planned rows (`know_now`).
    planned : Rows
        The tests that will be repeated (`planned_rows`).
    work : Work
        What the plan is expected to give.
    changes : ChangeRules
        When a change is called real, and from where on it is worth knowing.
    rules : RetestRules
    growth_factor : float, at least 1
        By how much growth multiplies the wander.

    Notes
    -----
    What growth adds brings doubt earlier but makes no change easier to see: the power is reckoned
    without it. So growth never puts a re-test off. A capacity that the last screen left unknown
    calls for another test now, not for a re-test later.
    """
    days = np.arange(rules.earliest_days, rules.latest_days + 1)
    power = _powers(
        known.belief,
        planned,
        wander=model.wander_variance_per_day,
        work=work,
        sure=changes.sure,
        days=days,
    )
    n = len(model.names)
    weeks = days[:, None] / 7.0
    worth = weeks * work.gain_per_week >= changes.worth
    visible = _first(days, (power >= rules.power) & worth)
    variances = np.diag(known.belief.covariance)[:n]
    was_known = np.sqrt(variances) < rules.known_sd
    wander = model.wander_variance_per_day * growth_factor
    doubtful = np.sqrt(variances + days[:, None] * wander) > rules.doubt_sd
    doubted = _first(days, doubtful & was_known)
    calls = [
        (day, why, name)
        for why, found in ((Why.CHANGE, visible), (Why.DOUBT, doubted))
        for day, name in zip(found, model.names, strict=True)
        if day <= rules.latest_days
    ]
    day, why, name = min(
        calls, key=lambda call: call[0], default=(rules.latest_days, Why.LATEST, None)
    )
    return Retest(int(day), why, name, float(power[int(day) - rules.earliest_days].max()))


def _powers(
    belief: Belief,
    planned: Rows,
    *,
    wander: Floats,
    work: Work,
    sure: float,
    days: NDArray[np.int_],
) -> Floats:
    """Return the power to see each capacity's change on each day, (days, n)."""
    weeks = days[:, None] / 7.0
    gains, gain_sds = weeks * work.gain_per_week, weeks * work.gain_per_week_sd
    # As `Timeline.without_expectations` believes it when the change is judged.
    believed = days[:, None] * wander + gain_sds**2 + gains**2
    power = np.zeros_like(gains)
    for i in np.flatnonzero(work.gain_per_week > 0.0):
        power[:, i] = detection_power(
            TrueChange(gains[:, i], gain_sds[:, i]),
            error_sd=change_error(belief, planned, believed, capacity=int(i)),
            believed_variance=believed[:, i],
            sure=sure,
        )
    return power


def _first(days: NDArray[np.int_], there: NDArray[np.bool_]) -> list[int]:
    """Return the first day of each column on which it holds; one beyond the last if on none."""
    found = np.where(there.any(axis=0), days[np.argmax(there, axis=0)], days[-1] + 1)
    return [int(day) for day in found]
