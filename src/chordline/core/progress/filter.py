"""Forward through the screens: what was known on each day, from that day's and earlier tests."""

from dataclasses import dataclass

import numpy as np

from chordline.core.capacity.model import Belief
from chordline.core.geometry.angles import Floats
from chordline.core.progress.filter_bounds import stand_for_bounds
from chordline.core.progress.timeline import ProgressModel, Step, Timeline
from chordline.core.progress.timeline_layout import Layout, Plan
from chordline.core.progress.timeline_stack import Stack, stack_timelines


@dataclass(frozen=True)
class Filtered:
    """Beliefs of g gymnasts at t screens over d lasting states.

    Attributes
    ----------
    predicted_mean : (t, g, d) float array
        Before the screen's own tests.
    mean : (t, g, d) float array
        After them.
    covariance : (t, g, d, d) float array
        After them.
    """

    predicted_mean: Floats
    mean: Floats
    covariance: Floats


@dataclass(frozen=True)
class Known:
    """What is known of one gymnast after her last screen.

    Attributes
    ----------
    layout : Layout
    belief : Belief
        Over the layout's states.
    """

    layout: Layout
    belief: Belief


def know_now(model: ProgressModel, timeline: Timeline, plan: Plan | None = None) -> Known:
    """Return what is known of a gymnast after her last screen.

    Parameters
    ----------
    model : ProgressModel
    timeline : Timeline
    plan : Plan, optional
        What the next screen will measure: what lasts of its errors is kept apart.
    """
    stack = stack_timelines(model, [timeline], plan)
    filtered, layout = filter_forward(stack), stack.layouts[0]
    belief = Belief(layout.states, filtered.mean[-1, 0], filtered.covariance[-1, 0])
    return Known(layout, belief)


def look_ahead(model: ProgressModel, known: Known, step: Step, *, days: int) -> Belief:
    """Return what is expected of the capacities some days after the last screen.

    Parameters
    ----------
    model : ProgressModel
    known : Known
    step : Step
        What training and growth are expected to do until then. They tell what to expect; what
        happened only another screen tells.
    days : int
    """
    n = len(model.names)
    wander = model.wander_variance_per_day * days * step.growth_factor + step.drift_variance
    return Belief(
        states=model.names,
        mean=known.belief.mean[:n] + step.drift_mean,
        covariance=known.belief.covariance[:n, :n] + np.diag(wander),
    )


def filter_forward(stack: Stack) -> Filtered:
    """Return the filtered beliefs.

    Notes
    -----
    Joseph's form. A screen with capped holds is updated by expectation propagation as it would be
    alone; later screens do not revise the Gaussian that stands for its bounds.
    """
    t, g, n = stack.wander.shape
    d = stack.prior_mean.shape[1]
    every, first = np.arange(d), np.arange(n)
    predicted_mean, means = np.zeros((t, g, d)), np.zeros((t, g, d))
    covariances = np.zeros((t, g, d, d))
    mean = stack.prior_mean.copy()
    covariance = np.zeros((g, d, d))
    covariance[:, every, every] = stack.prior_variance
    for j in range(t):
        mean[:, :n] += stack.drift[j]
        covariance[:, first, first] += stack.wander[j]
        predicted_mean[j] = mean
        mean, covariance = _update(
            mean, covariance, stack.values[j], stack.matrix[j], stack.noise[j]
        )
        if j in stack.bounds:
            who = np.array(list(stack.bounds[j]))
            values, matrix = stand_for_bounds(
                mean[who], covariance[who], list(stack.bounds[j].values())
            )
            noise = np.broadcast_to(np.eye(values.shape[1]), (len(who), *(values.shape[1],) * 2))
            mean[who], covariance[who] = _update(mean[who], covariance[who], values, matrix, noise)
        means[j], covariances[j] = mean, covariance
    return Filtered(predicted_mean, means, covariances)


def _update(
    mean: Floats, covariance: Floats, values: Floats, matrix: Floats, noise: Floats
) -> tuple[Floats, Floats]:
    """Return means and covariances of g gymnasts after measures of each."""
    shown = matrix @ covariance
    spread = shown @ matrix.mT + noise
    gain = np.linalg.solve(spread, shown).mT
    innovation = values - (matrix @ mean[..., None])[..., 0]
    # Joseph's form multiplied out: its last term takes back what the gain misses the best one by.
    rest = covariance - gain @ shown
    rest -= (shown.mT - gain @ spread) @ gain.mT
    return mean + (gain @ innovation[..., None])[..., 0], 0.5 * (rest + rest.mT)
