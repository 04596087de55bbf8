"""The exact update of a Gaussian belief by linear measures, all at once.

Taking all measures of a screen together makes the order of the tests irrelevant by construction.
"""

from dataclasses import dataclass

import numpy as np
import scipy  # its parts are loaded when they are used

from chordline.core.capacity.model import Belief
from chordline.core.geometry.angles import Floats


@dataclass(frozen=True)
class Evidence:
    """Linear measures of the state: values ~ matrix · x + intercepts + N(0, noise).

    Attributes
    ----------
    values : (m,) float array
    matrix : (m, d) float array
    intercepts : (m,) float array
    noise : (m, m) float array
        Positive definite.
    """

    values: Floats
    matrix: Floats
    intercepts: Floats
    noise: Floats


@dataclass(frozen=True)
class Updated:
    """A belief after evidence, and what each measure did to it.

    Attributes
    ----------
    belief : Belief
    shifts : (d, m) float array
        Gain × innovation: how far each measure moved each state. The rows add up to the
        difference of the means.
    surprise : (m,) float array
        Innovation over its own sd, under the prior belief.
    """

    belief: Belief
    shifts: Floats
    surprise: Floats


def update(prior: Belief, evidence: Evidence) -> Updated:
    """Return the belief after evidence.

    Notes
    -----
    Joseph's form keeps the covariance symmetric and positive.
    """
    h, p = evidence.matrix, prior.covariance
    if not len(evidence.values):
        return Updated(prior, np.zeros((len(prior.mean), 0)), np.zeros(0))
    innovation = evidence.values - h @ prior.mean - evidence.intercepts
    spread = h @ p @ h.T + evidence.noise
    gain = scipy.linalg.cho_solve(scipy.linalg.cho_factor(spread), h @ p).T
    rest = np.eye(len(p)) - gain @ h
    covariance = rest @ p @ rest.T + gain @ evidence.noise @ gain.T
    return Updated(
        belief=Belief(prior.states, prior.mean + gain @ innovation, covariance),
        shifts=gain * innovation,
        surprise=innovation / np.sqrt(np.diag(spread)),
    )
