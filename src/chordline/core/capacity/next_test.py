"""The next best test: what would tell most of what is still open, per minute of gym time."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import scipy  # its parts are loaded when they are used
from numpy.typing import NDArray

from chordline.core.capacity.model import Belief, CapacityModel
from chordline.core.capacity.update import Evidence, update
from chordline.core.geometry.angles import Floats

_NODES, _WEIGHTS = np.polynomial.hermite_e.hermegauss(15)
_WEIGHTS = _WEIGHTS / _WEIGHTS.sum()


@dataclass(frozen=True)
class Offer:
    """A test that could be done next.

    Attributes
    ----------
    test : str
    gain_bits : float
        Expected bits about which capacities limit her.
    minutes : float
    """

    test: str
    gain_bits: float
    minutes: float

    @property
    def bits_per_minute(self) -> float:
        """Gain for the gym time it takes."""
        return self.gain_bits / self.minutes


def rank_tests(
    belief: Belief,
    model: CapacityModel,
    minutes: Mapping[str, float],
    *,
    done: Sequence[str] = (),
    blocked: Sequence[str] = (),
    about: Sequence[str] | None = None,
) -> tuple[Offer, ...]:
    """Return the tests not done yet, most bits a minute first.

    Parameters
    ----------
    belief : Belief
        What is known now.
    model : CapacityModel
    minutes : mapping of test to float
        Gym time of each test; tests without an entry are not offered.
    done, blocked : sequences of str
        Tests to leave out: taken already, or stopped by pain.
    about : sequence of str, optional
        The capacities that matter; all of them if unset.

    Notes
    -----
    The covariance after a test does not depend on what it will show; the mean does, and is a
    Gaussian around today's. The expected entropy of 'limits her / does not' is integrated over it
    by Gauss-Hermite quadrature, one capacity at a time.
    """
    left_out = {*done, *blocked}
    counted = np.array([about is None or c.name in about for c in model.capacities])
    offers = [
        Offer(test, _gain(belief, model, rows, counted), minutes[test])
        for test, rows in model.by_test.items()
        if test in minutes and test not in left_out
    ]
    return tuple(sorted(offers, key=lambda offer: (-offer.bits_per_minute, offer.test)))


def rank_tests_between(
    belief: Belief,
    model: CapacityModel,
    minutes: Mapping[str, float],
    rivals: tuple[str, str],
    *,
    done: Sequence[str] = (),
    blocked: Sequence[str] = (),
) -> tuple[Offer, ...]:
    """Return the tests not done yet, the one that tells two capacities apart best first.

    Parameters
    ----------
    belief, model, minutes, done, blocked
        As for `rank_tests`.
    rivals : tuple of str
        Two capacities that explain the same measures.

    Notes
    -----
    What is open between two rivals is their difference, each in units of its own sd: a test that
    shows their sum once more settles nothing. Its bits are ½ log₂ of how far the variance of that
    difference falls.
    """
    contrast = np.zeros(len(belief.states))
    first, second = (belief.states.index(name) for name in rivals)
    contrast[first], contrast[second] = 1.0 / belief.sd[first], -1.0 / belief.sd[second]
    before = contrast @ belief.covariance @ contrast
    left_out = {*done, *blocked}
    offers = []
    for test, rows in model.by_test.items():
        if test not in minutes or test in left_out:
            continue
        after = update(belief, expected_evidence(model, rows, belief)).belief.covariance
        bits = 0.5 * float(np.log2(before / (contrast @ after @ contrast)))
        offers.append(Offer(test, bits, minutes[test]))
    return tuple(sorted(offers, key=lambda offer: (-offer.bits_per_minute, offer.test)))


def _gain(
    belief: Belief, model: CapacityModel, rows: NDArray[np.intp], counted: NDArray[np.bool_]
) -> float:
    after = update(belief, expected_evidence(model, rows, belief)).belief
    n = len(model.capacities)
    now = np.diag(belief.covariance)[:n]
    then = np.clip(np.diag(after.covariance)[:n], 1e-12, None)
    moved = np.sqrt(np.clip(now - then, 0.0, None))
    means = belief.mean[:n, None] + moved[:, None] * _NODES
    p_then = scipy.special.ndtr((means - model.thresholds[:, None]) / np.sqrt(then)[:, None])
    p_now = scipy.special.ndtr((belief.mean[:n] - model.thresholds) / np.sqrt(now))
    return float((_entropy(p_now) - _entropy(p_then) @ _WEIGHTS)[counted].sum())


def expected_evidence(model: CapacityModel, rows: NDArray[np.intp], belief: Belief) -> Evidence:
    """Return the evidence of a test that shows just what is believed, with its usual noise."""
    matrix, intercepts = model.matrix[rows], model.intercepts[rows]
    typical = np.array([model.rows[i].typical_sd for i in rows])
    return Evidence(
        values=matrix @ belief.mean + intercepts,
        matrix=matrix,
        intercepts=intercepts,
        noise=np.diag(typical**2 + model.extra_variances[rows]),
    )


def _entropy(p: Floats) -> Floats:
    """Return the entropy of a yes-or-no of probability p, in bits."""
    return np.asarray(
        -(scipy.special.xlogy(p, p) + scipy.special.xlogy(1.0 - p, 1.0 - p)) / np.log(2.0)
    )
