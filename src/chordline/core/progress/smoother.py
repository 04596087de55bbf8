"""Backward through the screens: what is known today of every earlier day, later tests included."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from chordline.core.geometry.angles import Floats
from chordline.core.progress.filter import Filtered, filter_forward
from chordline.core.progress.timeline import ProgressModel, Timeline
from chordline.core.progress.timeline_stack import Stack, stack_timelines

#: Gymnasts whose arrays are held together: enough for speed, few enough for memory.
_AT_ONCE = 50


@dataclass(frozen=True)
class Curve:
    """One gymnast's capacities through her screens, all tests considered.

    Attributes
    ----------
    days : tuple of int, t
    names : tuple of str, n
    mean : (t, n) float array
        Shortfalls; positive = missing.
    covariance : (t, n, n) float array
    lasting : (t, d, d) float array
        Covariance of all that lasts, offsets and misfits included.
    pulls : (t, n, d) float array
        As in `Smoothed`.
    """

    days: tuple[int, ...]
    names: tuple[str, ...]
    mean: Floats
    covariance: Floats
    lasting: Floats
    pulls: Floats

    @property
    def sd(self) -> Floats:
        """Standard deviations, (t, n)."""
        return np.asarray(np.sqrt(np.diagonal(self.covariance, axis1=1, axis2=2)))

    def shared(self, earlier: int, later: int) -> Floats:
        """Return the covariance of the capacities at two screens, (n, n): rows the earlier one."""
        n = len(self.names)
        block = self.lasting[later][:, :n].copy()
        for j in range(later - 1, earlier - 1, -1):
            block[:n] -= self.pulls[j] @ block
        return np.asarray(block[:n])


@dataclass(frozen=True)
class Smoothed:
    """Beliefs of g gymnasts at t screens given all of their screens.

    Attributes
    ----------
    mean : (t, g, d) float array
    covariance : (t, g, d, d) float array
    pulls : (t, g, n, d) float array
        G of each step to the next screen: the smoother's gain is the identity less G in the rows
        of the capacities.
    """

    mean: Floats
    covariance: Floats
    pulls: Floats


def smooth_backward(stack: Stack, filtered: Filtered) -> Smoothed:
    """Return the smoothed beliefs (Rauch, Tung and Striebel).

    Notes
    -----
    Only capacities wander, so the gain is J = P (P + Q)⁻¹ = I − Q (P + Q)⁻¹, which differs from the
    identity in the capacities' rows alone: J = I − E G. The covariance is a sum of what cannot be
    negative, J V Jᵀ + E (G P Gᵀ + (I − G) Q (I − G)ᵀ) Eᵀ, as Joseph's form is for the update.
    """
    t, g, n = stack.wander.shape
    d = stack.prior_mean.shape[1]
    every, first = np.arange(d), np.arange(n)
    mean, covariance = filtered.mean.copy(), filtered.covariance.copy()
    pulls = np.zeros((t, g, n, d))
    for j in range(t - 2, -1, -1):
        q, p = stack.wander[j + 1], filtered.covariance[j]
        ahead = p.copy()
        ahead[:, first, first] += q
        # A state known exactly has a row of zeros; any number on its diagonal leaves it alone.
        diagonal = ahead[:, every, every]
        ahead[:, every, every] = np.where(diagonal > 0.0, diagonal, 1.0)
        wander = np.zeros((g, d, n))
        wander[:, first, first] = q
        pull = np.linalg.solve(ahead, wander).mT
        pulls[j] = pull
        news = mean[j + 1] - filtered.predicted_mean[j + 1]
        mean[j] += news
        mean[j, :, :n] -= (pull @ news[..., None])[..., 0]
        after = covariance[j]
        after[:] = covariance[j + 1]
        after[:, :n] -= pull @ covariance[j + 1]
        after[:, :, :n] -= after @ pull.mT
        kept = np.eye(n) - pull[:, :, :n]
        after[:, :n, :n] += pull @ p @ pull.mT + (kept * q[:, None, :]) @ kept.mT
    return Smoothed(mean, covariance, pulls)


def smooth_timelines(model: ProgressModel, timelines: Sequence[Timeline]) -> tuple[Curve, ...]:
    """Return the curve of every gymnast."""
    return tuple(
        curve
        for first in range(0, len(timelines), _AT_ONCE)
        for curve in _smooth_some(model, timelines[first : first + _AT_ONCE])
    )


def _smooth_some(model: ProgressModel, timelines: Sequence[Timeline]) -> list[Curve]:
    stack = stack_timelines(model, timelines)
    smoothed = smooth_backward(stack, filter_forward(stack))
    n = len(model.names)
    return [
        Curve(
            days=one.days,
            names=model.names,
            mean=smoothed.mean[:t, i, :n],
            covariance=smoothed.covariance[:t, i, :n, :n],
            lasting=smoothed.covariance[:t, i],
            pulls=smoothed.pulls[:t, i],
        )
        for i, (one, t) in enumerate(zip(timelines, stack.counts, strict=True))
    ]
