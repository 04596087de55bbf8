"""What limits her, what cannot be told yet, and how much each matters."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
import scipy  # its parts are loaded when they are used

from chordline.core.capacity.model import Belief, CapacityModel
from chordline.core.geometry.angles import Floats


@dataclass(frozen=True)
class Rules:
    """Where certainty begins.

    Attributes
    ----------
    sure : float
        Probability from which a capacity is called a limiter; 1 − sure rules one out.
    tied : float
        Correlation (negative) beyond which two capacities are rivals for the same measures.
    told : float
        Share of the prior sd below which the sd must fall for a capacity to count as tested.
    """

    sure: float
    tied: float
    told: float


@dataclass(frozen=True)
class Limiter:
    """A capacity that limits her.

    Attributes
    ----------
    capacity : str
    p : float
        Probability that its shortfall is above its threshold.
    straightening : float
        Degrees by which her line is expected to straighten without it.
    """

    capacity: str
    p: float
    straightening: float


@dataclass(frozen=True)
class Undecided:
    """Capacities that the tests so far cannot decide.

    Attributes
    ----------
    capacities : tuple of str
        One that may or may not limit her, or two that the tests cannot tell apart.
    """

    capacities: tuple[str, ...]


def limiter_probabilities(belief: Belief, model: CapacityModel) -> Floats:
    """Return P(shortfall > threshold) of every capacity, (capacities,)."""
    n = len(model.capacities)
    return np.asarray(scipy.special.ndtr((belief.mean[:n] - model.thresholds) / belief.sd[:n]))


def was_tested(belief: Belief, prior: Belief, model: CapacityModel, rules: Rules) -> list[bool]:
    """Return for every capacity whether the tests have told anything of it."""
    n = len(model.capacities)
    return [bool(share < rules.told) for share in belief.sd[:n] / prior.sd[:n]]


def find_undecided(
    belief: Belief, prior: Belief, model: CapacityModel, rules: Rules
) -> tuple[Undecided, ...]:
    """Return what the tests so far leave open.

    Two capacities are rivals when they are negatively correlated, so that what one explains the
    other need not, and both may limit her. One stands against its rival when the measures bear it
    alone: it is sure even if nothing had been believed of the rival beforehand. Rivals of whom
    none stands are one open question; a capacity that does not stand, or whose probability lies
    between the bounds of certainty, is one of its own.
    """
    p = limiter_probabilities(belief, model)
    tested = was_tested(belief, prior, model, rules)
    names = [c.name for c in model.capacities]
    may = p > 1.0 - rules.sure
    pairs, beaten = [], set()
    for i, j in combinations(np.flatnonzero(may).tolist(), 2):
        if not (tested[i] or tested[j]) or not (
            belief.correlation(names[i], names[j]) < -rules.tied
        ):
            continue
        stands = (
            _stands(i, j, belief=belief, prior=prior, model=model) >= rules.sure,
            _stands(j, i, belief=belief, prior=prior, model=model) >= rules.sure,
        )
        if not any(stands):
            first, second = (i, j) if p[i] >= p[j] else (j, i)
            pairs.append(Undecided((names[first], names[second])))
        beaten |= {k for k, stood in zip((i, j), stands, strict=True) if not stood}
    paired = {name for pair in pairs for name in pair.capacities}
    alone = [
        Undecided((names[i],))
        for i in np.flatnonzero(may)
        if names[i] not in paired and tested[i] and (p[i] < rules.sure or i in beaten)
    ]
    return (*pairs, *alone)


#: A rival of whom nothing was believed: this share of what the prior knew is taken back. Not all
#: of it, so that a rival of whom the measures tell nothing keeps a finite variance.
_TAKEN_BACK = 0.99


def _stands(i: int, rival: int, *, belief: Belief, prior: Belief, model: CapacityModel) -> float:
    """Return P(capacity i limits her) with hardly any prior belief of its rival.

    Notes
    -----
    With k the precision that is taken back of the rival r, the matrix inversion lemma gives
    Σ' = Σ + k Σ_r Σ_rᵀ / (1 − k Σ_rr) and μ' = μ + k Σ_r (μ_r − m_r) / (1 − k Σ_rr).
    """
    cov = belief.covariance
    k = _TAKEN_BACK / prior.covariance[rival, rival]
    left = 1.0 - k * cov[rival, rival]
    mean = belief.mean[i] + k * cov[i, rival] / left * (belief.mean[rival] - prior.mean[rival])
    sd = np.sqrt(cov[i, i] + k * cov[i, rival] ** 2 / left)
    return float(scipy.special.ndtr((mean - model.thresholds[i]) / sd))


def rank_limiters(
    belief: Belief,
    prior: Belief,
    model: CapacityModel,
    rules: Rules,
    undecided: Sequence[Undecided],
) -> tuple[Limiter, ...]:
    """Return the limiters, the one whose removal straightens her line most first.

    An undecided capacity is no limiter, however likely: its rival may explain what was seen. Nor is
    one of which the tests told nothing, whatever was believed of it beforehand.
    """
    p = limiter_probabilities(belief, model)
    tested = was_tested(belief, prior, model, rules)
    open_names = {name for one in undecided for name in one.capacities}
    limiters = []
    for i, capacity in enumerate(model.capacities):
        if not tested[i] or p[i] < rules.sure or capacity.name in open_names:
            continue
        mean, sd = belief.mean[i], belief.sd[i]
        limiters.append(
            Limiter(
                capacity.name,
                float(p[i]),
                capacity.straightening * expected_shortfall(mean, sd),
            )
        )
    return tuple(sorted(limiters, key=lambda one: (-one.straightening, one.capacity)))


def expected_shortfall(mean: float, sd: float) -> float:
    """Return E[max(x, 0)] of a Gaussian: an ability beyond need does not count."""
    z = mean / sd
    return float(mean * scipy.special.ndtr(z) + sd * np.exp(-0.5 * z * z) / np.sqrt(2.0 * np.pi))
