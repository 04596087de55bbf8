"""How a gymnast stands on the ladder: gates with their error, rungs with what they lean on.

A rung asks for values between limits (gates) and for other rungs. A gate is clear only where the
value clears it with its error; near the limit it is called close.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
import scipy  # its parts are loaded when they are used

from chordline.core.estimate import Estimate
from chordline.core.geometry.angles import Floats

GateState = Literal["clear", "close", "missing", "unknown"]
Standing = Literal["had", "barred", "ready", "close", "not_yet", "cannot_tell"]
#: Correlation of two values, by the names of their gates.
Correlations = Mapping[frozenset[str], float]

#: Points of the quasi-random rule; the error of a probability is below 0.001 for ten gates.
_POINTS = 4096
_PRIMES = np.array([2, 3, 5, 7, 11, 13, 17, 19, 23, 29, 31, 37, 41, 43, 47, 53, 59, 61, 67, 71])
_LEAST_SD = 1e-9


@dataclass(frozen=True)
class Certainty:
    """Where certainty begins.

    Attributes
    ----------
    sure : float
        Probability from which a gate is clear; 0.95 = the value less 1.645 of its sd clears it.
    missing : float
        Probability up to which it is called missing.
    """

    sure: float
    missing: float

    @property
    def sds(self) -> float:
        """How many sd the value must lie inside of the limit."""
        return float(scipy.special.ndtri(self.sure))


@dataclass(frozen=True)
class Gate:
    """A value that a rung asks for between two limits.

    Attributes
    ----------
    name : str
        Unlike the names of the rung's other gates.
    value : Estimate or None
        None = nothing is known of it.
    least, most : float or None
        In the value's unit; None = no limit on that side.
    at_least : bool
        Whether the value is known only to be so large or larger.
    open : bool
        Whether something else may explain what was seen, so that nothing is said in between.
    """

    name: str
    value: Estimate | None
    least: float | None = None
    most: float | None = None
    at_least: bool = False
    open: bool = False


@dataclass(frozen=True)
class JudgedGate:
    """A gate with the probability of its being cleared, None where nothing is known."""

    gate: Gate
    p: float | None
    state: GateState


@dataclass(frozen=True)
class Rung:
    """A skill with what it leans on.

    Attributes
    ----------
    id : str
    gates : tuple of Gate
    needs : tuple of str
        Rungs that must be had before; never a circle.
    old_enough : bool or None
        None = her age is not known and matters.
    barred_by : tuple of str
        Reported signs that bar it.
    """

    id: str
    gates: tuple[Gate, ...] = ()
    needs: tuple[str, ...] = ()
    old_enough: bool | None = True
    barred_by: tuple[str, ...] = ()


@dataclass(frozen=True)
class JudgedRung:
    """How she stands to a rung.

    Attributes
    ----------
    rung : Rung
    standing : Standing
    gates : tuple of JudgedGate
    p : float or None
        Probability that every gate of which something is known is cleared; None without such.
    p_is_bound : bool
        Whether gates are left of which nothing is known: all of them together are no likelier.
    first : tuple of str
        Rungs that it needs and she does not have.
    implied_by : str or None
        The rung that she has and that leans on this one, where nobody said this one itself.
    """

    rung: Rung
    standing: Standing
    gates: tuple[JudgedGate, ...]
    p: float | None
    p_is_bound: bool
    first: tuple[str, ...]
    implied_by: str | None

    @property
    def shape_clear(self) -> bool:
        """Whether her body and her age have what the rung asks for, whatever she has learned."""
        clear = all(one.state == "clear" for one in self.gates)
        return clear and self.rung.old_enough is True and not self.rung.barred_by


def judge_gate(gate: Gate, certainty: Certainty) -> JudgedGate:
    """Return whether a gate is cleared with the error of its value.

    Returns
    -------
    JudgedGate
        A value known only from below is clear or unknown, never missing.

    Notes
    -----
    Between clear and missing a gate is close: within its error of the limit.

    Examples
    --------
    >>> judge_gate(Gate("hips", Estimate(4.0, 3.0), most=8.0), Certainty(0.95, 0.05)).state
    'close'
    """
    p = None if gate.value is None else _chance(gate, gate.value)
    if p is None:
        state: GateState = "unknown"
    elif p >= certainty.sure:
        state = "clear"
    elif gate.at_least:
        state = "unknown"
    elif p <= certainty.missing:
        state = "missing"
    else:
        state = "unknown" if gate.open else "close"
    return JudgedGate(gate, p, state)


def _chance(gate: Gate, value: Estimate) -> float:
    lower, upper = _limits(gate, value)
    return float(scipy.special.ndtr(upper) - scipy.special.ndtr(lower))


def _limits(gate: Gate, value: Estimate) -> tuple[float, float]:
    """Return the limits in sd from the value."""
    sd = max(value.sd, _LEAST_SD)
    lower = -np.inf if gate.least is None else (gate.least - value.value) / sd
    upper = np.inf if gate.most is None else (gate.most - value.value) / sd
    return float(lower), float(upper)


def joint_probability(
    gates: Sequence[Gate], correlations: Correlations | None = None
) -> float | None:
    """Return the probability that all gates of which something is known are cleared together.

    Parameters
    ----------
    gates : sequence of Gate
        Twenty at most, where values are correlated.
    correlations : mapping, optional
        Of the values; those without an entry are independent of each other.

    Returns
    -------
    float or None
        None where nothing is known of any gate.

    Notes
    -----
    Independent values: the product. Otherwise the integral of the normal density over the box of
    the limits, by the separation of variables (Genz 1992) on a fixed Richtmyer rule, so that the
    same values always give the same figure.
    """
    known = [(gate, gate.value) for gate in gates if gate.value is not None]
    if not known:
        return None
    limits = np.array([_limits(gate, value) for gate, value in known])
    matrix = np.eye(len(known))
    for i in range(len(known)):
        for j in range(i):
            pair = frozenset((known[i][0].name, known[j][0].name))
            matrix[i, j] = matrix[j, i] = (correlations or {}).get(pair, 0.0)
    if np.array_equal(matrix, np.eye(len(known))):
        return float(np.prod(scipy.special.ndtr(limits[:, 1]) - scipy.special.ndtr(limits[:, 0])))
    return _box_probability(limits, matrix)


def _box_probability(limits: Floats, matrix: Floats) -> float:
    n = len(limits)
    # Rounded correlations may leave the matrix a hair short of positive definite.
    values, vectors = np.linalg.eigh(matrix)
    mended = (vectors * np.clip(values, 1e-9, None)) @ vectors.T
    factor = np.linalg.cholesky(mended / np.sqrt(np.outer(np.diag(mended), np.diag(mended))))
    steps = np.sqrt(_PRIMES[: max(n - 1, 1)])
    points = np.mod(np.outer(np.arange(1, _POINTS + 1), steps), 1.0)
    points = np.abs(2.0 * points - 1.0)
    drawn = np.zeros((_POINTS, n))
    share = np.ones(_POINTS)
    for i in range(n):
        shift = drawn[:, :i] @ factor[i, :i]
        below = scipy.special.ndtr((limits[i, 0] - shift) / factor[i, i])
        above = scipy.special.ndtr((limits[i, 1] - shift) / factor[i, i])
        share *= above - below
        if i < n - 1:
            level = below + points[:, i] * (above - below)
            drawn[:, i] = scipy.special.ndtri(np.clip(level, 1e-15, 1.0 - 1e-15))
    return float(np.clip(share.mean(), 0.0, 1.0))


def judge_ladder(
    rungs: Sequence[Rung],
    had: Sequence[str],
    certainty: Certainty,
    correlations: Correlations | None = None,
) -> tuple[JudgedRung, ...]:
    """Return how she stands to every rung, in their order.

    Parameters
    ----------
    rungs : sequence of Rung
    had : sequence of str
        Rungs that a coach said she has. Who has a rung has those that it leans on.
    certainty : Certainty
    correlations : mapping, optional
        Of the gates' values, for the joint probabilities; the standing rests on each gate alone.

    Notes
    -----
    barred: a reported sign bars it, whether she has it or not. had: a coach said so. not yet: a
    gate is missing, she is too young, or she lacks a rung that it needs. cannot tell: a gate or her
    age is not known, and nothing is missing. close: gates are near their limits and, taken as
    independent, not likely to be missing together; or all that lacks is to take the rungs before,
    for which her shape is clear. ready: everything is clear.
    """
    implied = _implied(rungs, had)
    judged = {
        rung.id: JudgedRung(
            rung=rung,
            standing="cannot_tell",
            gates=(gates := tuple(judge_gate(gate, certainty) for gate in rung.gates)),
            p=joint_probability(rung.gates, correlations),
            p_is_bound=any(one.p is None for one in gates),
            first=tuple(need for need in rung.needs if need not in had and need not in implied),
            implied_by=None if rung.id in had else implied.get(rung.id),
        )
        for rung in rungs
    }

    def way_clear(id: str) -> bool:
        """Whether her shape is clear for a rung and for all that she lacks on the way to it."""
        one = judged.get(id)
        return one is not None and one.shape_clear and all(map(way_clear, one.first))

    return tuple(
        replace(one, standing=_stand(one, one.rung.id in had, way_clear, certainty))
        for one in judged.values()
    )


def _implied(rungs: Sequence[Rung], had: Sequence[str]) -> dict[str, str]:
    """Return the rungs that those she has lean on, each with a rung that she has."""
    needs = {rung.id: rung.needs for rung in rungs}
    implied: dict[str, str] = {}
    for start in had:
        todo = list(needs.get(start, ()))
        while todo:
            one = todo.pop()
            if one not in implied:
                implied[one] = start
                todo += needs.get(one, ())
    return implied


def _stand(
    one: JudgedRung, said: bool, way_clear: Callable[[str], bool], certainty: Certainty
) -> Standing:
    if one.rung.barred_by:
        return "barred"
    if said or one.implied_by is not None:
        return "had"
    if one.first:
        way = one.shape_clear and all(map(way_clear, one.first))
        return "close" if way else "not_yet"
    return _stand_by_body(one, certainty)


def _stand_by_body(one: JudgedRung, certainty: Certainty) -> Standing:
    """Return how she stands to a rung for which she has all that it needs."""
    states = {gate.state for gate in one.gates}
    if "missing" in states or one.rung.old_enough is False:
        return "not_yet"
    if "unknown" in states or one.rung.old_enough is None:
        return "cannot_tell"
    if "close" not in states:
        return "ready"
    together = float(np.prod([1.0 if gate.p is None else gate.p for gate in one.gates]))
    return "close" if together > certainty.missing else "not_yet"
