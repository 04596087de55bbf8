"""What limits her, what cannot be told yet, and how much each matters."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from scipy.special import ndtr

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
        Correlation (negative) beyond which two capacities are not told apart.
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
    return np.asarray(ndtr((belief.mean[:n] - model.thresholds) / belief.sd[:n]))


def was_tested(belief: Belief, prior: Belief, model: CapacityModel, rules: Rules) -> list[bool]:
    """Return for every capacity whether the tests have told anything of it."""
    n = len(model.capacities)
    return [bool(share < rules.told) for share in belief.sd[:n] / prior.sd[:n]]


def find_undecided(
    belief: Belief, prior: Belief, model: CapacityModel, rules: Rules
) -> tuple[Undecided, ...]:
    """Return what the tests so far leave open.

    Two capacities are tied when they are strongly negatively correlated and at least one of them
    may limit her while neither the pair as a whole is ruled out nor both are sure: the measure is
    explained by either. A capacity alone is undecided when it was tested and its probability lies
    between the two bounds of certainty.
    """
    p = limiter_probabilities(belief, model)
    tested = was_tested(belief, prior, model, rules)
    names = [c.name for c in model.capacities]
    pairs = []
    for i, j in combinations(range(len(names)), 2):
        if not (tested[i] or tested[j]):
            continue
        either_open = not (p[i] >= rules.sure and p[j] >= rules.sure)
        possible = max(p[i], p[j]) > 1.0 - rules.sure and min(p[i], p[j]) > 1.0 - rules.sure
        if either_open and possible and belief.correlation(names[i], names[j]) < -rules.tied:
            first, second = (i, j) if p[i] >= p[j] else (j, i)
            pairs.append(Undecided((names[first], names[second])))
    paired = {name for pair in pairs for name in pair.capacities}
    alone = [
        Undecided((name,))
        for i, name in enumerate(names)
        if name not in paired and tested[i] and 1.0 - rules.sure < p[i] < rules.sure
    ]
    return (*pairs, *alone)


def rank_limiters(
    belief: Belief, model: CapacityModel, rules: Rules, undecided: Sequence[Undecided]
) -> tuple[Limiter, ...]:
    """Return the limiters, the one whose removal straightens her line most first.

    A capacity of an undecided pair is no limiter, however likely: the other may explain it.
    """
    p = limiter_probabilities(belief, model)
    open_names = {name for one in undecided for name in one.capacities}
    limiters = []
    for i, capacity in enumerate(model.capacities):
        if p[i] < rules.sure or capacity.name in open_names:
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
    return float(mean * ndtr(z) + sd * np.exp(-0.5 * z * z) / np.sqrt(2.0 * np.pi))
