"""The linear-Gaussian model: capacities, what each measure says of them, and what is known before.

    y = H x + b + v,   v ~ N(0, R)

x holds the capacities and a few nuisances: constant offsets of the landmarks that every photo of a
screen shares. All as shortfall from aligned: positive = missing.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from chordline.core.geometry.angles import Floats


@dataclass(frozen=True)
class Capacity:
    """One thing her body can or cannot yet do.

    Attributes
    ----------
    name : str
        Ends in its unit: ``_deg``, ``_pct`` or ``_s`` (log-seconds).
    prior_mean, prior_sd : float
        What is believed of a gymnast before the first test.
    threshold : float
        Shortfall above which it limits her.
    straightening : float
        Degrees by which one unit of it bends her line, to rank limiters.
    """

    name: str
    prior_mean: float
    prior_sd: float
    threshold: float
    straightening: float


@dataclass(frozen=True)
class Nuisance:
    """An offset that every photo of a screen shares; mean 0.

    Attributes
    ----------
    name : str
    sd : float
        For landmarks found automatically.
    hand_sd : float
        For landmarks set by hand.
    """

    name: str
    sd: float
    hand_sd: float


@dataclass(frozen=True)
class ModelRow:
    """What one measure of one test says.

    Attributes
    ----------
    test, measure : str
    loads : mapping of state name to float
        Row of H: change of the measure for one unit more of a capacity's shortfall.
    intercept : float
        b: the measure of an aligned gymnast.
    model_sd : float
        What the straight-line model gets wrong, in the measure's unit.
    repeat_sd : float
        What she herself changes when the test is repeated on the same day.
    typical_sd : float
        Error of the measurement to reckon with before the photo is taken.
    instead_of : str
        A measure of the same test that says the same, only worse: where this one can be read, that
        one is not used. Nothing is reckoned with it before the photo is taken.
    """

    test: str
    measure: str
    loads: Mapping[str, float]
    intercept: float
    model_sd: float
    repeat_sd: float
    typical_sd: float
    instead_of: str = ""

    @property
    def extra_variance(self) -> float:
        """Variance beyond the measurement's own."""
        return self.model_sd**2 + self.repeat_sd**2


@dataclass(frozen=True)
class CapacityModel:
    """All capacities, nuisances and rows."""

    capacities: tuple[Capacity, ...]
    nuisances: tuple[Nuisance, ...]
    rows: tuple[ModelRow, ...]

    @cached_property
    def states(self) -> tuple[str, ...]:
        """Names of the state: capacities first, then nuisances."""
        return (*(c.name for c in self.capacities), *(n.name for n in self.nuisances))

    @cached_property
    def by_measure(self) -> Mapping[tuple[str, str], tuple[int, ModelRow]]:
        """Index and row of each (test, measure)."""
        return {(row.test, row.measure): (i, row) for i, row in enumerate(self.rows)}

    @cached_property
    def by_test(self) -> Mapping[str, NDArray[np.intp]]:
        """Indices of the rows of each test that can be reckoned with."""
        tests = dict.fromkeys(row.test for row in self.rows)
        return {
            test: np.array(
                [i for i, row in enumerate(self.rows) if row.test == test and not row.instead_of]
            )
            for test in tests
        }

    @cached_property
    def matrix(self) -> Floats:
        """H of all rows, (rows, states)."""
        matrix = np.zeros((len(self.rows), len(self.states)))
        for i, row in enumerate(self.rows):
            for state, load in row.loads.items():
                matrix[i, self.states.index(state)] = load
        return matrix

    @cached_property
    def intercepts(self) -> Floats:
        """b of all rows, (rows,)."""
        return np.array([row.intercept for row in self.rows])

    @cached_property
    def extra_variances(self) -> Floats:
        """Variance of each row beyond the measurement's own, (rows,)."""
        return np.array([row.extra_variance for row in self.rows])

    @cached_property
    def thresholds(self) -> Floats:
        """Thresholds of the capacities, (capacities,)."""
        return np.array([c.threshold for c in self.capacities])

    def prior(self, *, by_hand: bool) -> "Belief":
        """Return what is believed before the first test.

        Parameters
        ----------
        by_hand : bool
            Whether the landmarks are set by hand: their common offsets are smaller then.
        """
        mean = [c.prior_mean for c in self.capacities] + [0.0] * len(self.nuisances)
        sds = [c.prior_sd for c in self.capacities]
        sds += [n.hand_sd if by_hand else n.sd for n in self.nuisances]
        return Belief(self.states, np.array(mean), np.diag(np.square(sds)))


@dataclass(frozen=True)
class Belief:
    """A Gaussian over the state.

    Attributes
    ----------
    states : tuple of str
    mean : (d,) float array
    covariance : (d, d) float array
    """

    states: tuple[str, ...]
    mean: Floats
    covariance: Floats

    @cached_property
    def sd(self) -> Floats:
        """Standard deviations, (d,)."""
        return np.sqrt(np.clip(np.diag(self.covariance), 0.0, None))

    def correlation(self, one: str, other: str) -> float:
        """Return the correlation of two states."""
        i, j = self.states.index(one), self.states.index(other)
        return float(self.covariance[i, j] / (self.sd[i] * self.sd[j]))


def rows_of(model: CapacityModel, pairs: Sequence[tuple[str, str]]) -> NDArray[np.intp]:
    """Return the indices of (test, measure) pairs that the model knows, in order."""
    return np.array([model.by_measure[pair][0] for pair in pairs], dtype=np.intp)
