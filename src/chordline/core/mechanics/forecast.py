"""What her handstand can become: the attainable line over draws of her limits."""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from chordline.core.estimate import Estimate
from chordline.core.geometry.angles import Floats
from chordline.core.mechanics.attainable import AttainableLine, Steps, find_attainable_line
from chordline.core.mechanics.chain import Chain, Support, build_chain
from chordline.core.mechanics.lengths import Lengths
from chordline.core.mechanics.limits import Limits, Stance
from chordline.core.mechanics.parts import Parts


@dataclass(frozen=True)
class Body:
    """One gymnast as the mechanics see her.

    Attributes
    ----------
    parts : Parts
    lengths : Lengths
        Of one body, scalar arrays.
    support : Support
    stature_m : float
    """

    parts: Parts
    lengths: Lengths
    support: Support
    stature_m: float

    def chain(self, push_m: Floats) -> Chain:
        """Return the chain of every draw of the push, (n,) or scalar [m]."""
        lengths = self.lengths.push(np.atleast_1d(push_m))
        return build_chain(self.parts, lengths, self.support, stature_m=self.stature_m)


@dataclass(frozen=True)
class Goal:
    """What counts as arrived.

    Attributes
    ----------
    upright_rad : float [rad]
        Largest lean of the chord, either way.
    straight_pct : float [% of chord]
        Largest bow, either way.
    """

    upright_rad: float
    straight_pct: float


@dataclass(frozen=True)
class Forecast:
    """The attainable line as a distribution over draws.

    Attributes
    ----------
    line : AttainableLine
        Every draw.
    bow_max_pct : Estimate
        Magnitude of the largest bow of shoulder, hip and knee.
    bow_rms_pct : Estimate
    lean_rad : Estimate
    openings_rad : mapping of 'shoulder', 'trunk', 'hip' to Estimate
    p_possible : float
        Share of draws in which balance and moments can be kept at all.
    p_upright, p_straight, p_arrived : float
        Share of draws that are possible and upright; possible and straight; all of it.
    stopped_by : mapping of name to float
        Share of draws that each limit stops first; 'nothing' where none does. Largest first.
    payoffs : mapping of `Limits` field to Estimate
        Bow (rms) that one unit more takes away [% per unit of the field]; the mean is the expected
        payoff, the sd is over draws.
    """

    line: AttainableLine
    bow_max_pct: Estimate
    bow_rms_pct: Estimate
    lean_rad: Estimate
    openings_rad: Mapping[str, Estimate]
    p_possible: float
    p_upright: float
    p_straight: float
    p_arrived: float
    stopped_by: Mapping[str, float]
    payoffs: Mapping[str, Estimate]

    @property
    def points_pct(self) -> Floats:
        """Wrist, shoulder, trunk, hip, knee, malleolus, toe of the middle draw, (7, 2) [%].

        A real posture, not a mean of postures: the draw whose bow (rms) is the median.
        """
        order = np.argsort(self.line.bow_rms_pct, kind="stable")
        return np.asarray(self.line.points_pct[order[len(order) // 2]])


#: Push by which its payoff is taken [m]: a centimetre, since it has no row to read a slope from.
_PUSH_STEP_M = 0.01


def forecast_line(
    body: Body,
    limits: Limits,
    stance: Stance,
    steps: Steps,
    goal: Goal,
    *,
    warm: Floats | None = None,
) -> Forecast:
    """Return what her handstand can become, given draws of her limits.

    Parameters
    ----------
    body : Body
    limits : Limits
        n draws.
    stance, steps, goal
    warm : (n, 4) float array [rad], optional
        Leans of an earlier forecast of the same draws.

    Raises
    ------
    ValueError
        As `find_attainable_line`.
    """
    line = solve_body(body, limits, stance, steps, warm=warm)
    pushed = replace(limits, shoulder_push_m=limits.shoulder_push_m + _PUSH_STEP_M)
    taller = solve_body(body, pushed, stance, steps, warm=line.leans)
    payoffs = dict(line.payoffs())
    payoffs["shoulder_push_m"] = (line.bow_rms_pct - taller.bow_rms_pct) / _PUSH_STEP_M

    bow = np.abs(line.bow_max_pct)
    upright = line.possible & (np.abs(line.lean_rad) <= goal.upright_rad)
    straight = line.possible & (bow <= goal.straight_pct)
    names = ("shoulder", "trunk", "hip")
    counts = Counter(name or "nothing" for name in line.first_stop)
    return Forecast(
        line=line,
        bow_max_pct=_estimate(bow),
        bow_rms_pct=_estimate(line.bow_rms_pct),
        lean_rad=_estimate(line.lean_rad),
        openings_rad={
            name: _estimate(column) for name, column in zip(names, line.openings.T, strict=True)
        },
        p_possible=float(line.possible.mean()),
        p_upright=float(upright.mean()),
        p_straight=float(straight.mean()),
        p_arrived=float((upright & straight).mean()),
        stopped_by={
            name: count / len(bow)
            for name, count in sorted(counts.items(), key=lambda one: (-one[1], one[0]))
        },
        payoffs={name: _estimate(values) for name, values in payoffs.items()},
    )


def solve_body(
    body: Body, limits: Limits, stance: Stance, steps: Steps, *, warm: Floats | None = None
) -> AttainableLine:
    """Return the attainable line of every draw of one body's limits."""
    return find_attainable_line(
        body.chain(limits.shoulder_push_m), limits, stance, steps, warm=warm
    )


@dataclass(frozen=True)
class WhatIf:
    """How the forecast changes when one limit gains.

    Attributes
    ----------
    straightened_pct : Estimate
        Bow (rms) taken away, with its sd over draws [% of chord].
    line : AttainableLine
        The new line of every draw.
    p_arrived_gain : float
        By how much the chance rises to stand upright and straight.
    """

    straightened_pct: Estimate
    line: AttainableLine
    p_arrived_gain: float


def ask_what_if(
    body: Body,
    forecast: Forecast,
    stance: Stance,
    steps: Steps,
    goal: Goal,
    *,
    gains: Mapping[str, float],
) -> WhatIf:
    """Return what a forecast would be if some limits gained, solved anew.

    Parameters
    ----------
    gains : mapping of `Limits` field to float
        In the field's unit; negative takes away.
    """
    before = forecast.line
    changed = {name: getattr(before.limits, name) + gain for name, gain in gains.items()}
    line = solve_body(body, replace(before.limits, **changed), stance, steps, warm=before.leans)
    arrived = (
        line.possible
        & (np.abs(line.lean_rad) <= goal.upright_rad)
        & (np.abs(line.bow_max_pct) <= goal.straight_pct)
    )
    return WhatIf(
        straightened_pct=_estimate(before.bow_rms_pct - line.bow_rms_pct),
        line=line,
        p_arrived_gain=float(arrived.mean()) - forecast.p_arrived,
    )


def _estimate(values: Floats) -> Estimate:
    return Estimate(float(values.mean()), float(values.std()))
