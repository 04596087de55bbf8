"""Many gymnasts' timelines as arrays of one shape, so that a club is filtered in one go.

Whoever has fewer screens, measures or states than the others is filled up with empty screens (no
time passes, nothing is measured), empty measures and states of no variance; none of them changes a
result.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chordline.core.capacity.censored import Bound
from chordline.core.geometry.angles import Floats
from chordline.core.progress.timeline import ProgressModel, Timeline
from chordline.core.progress.timeline_layout import Layout, Plan, lay_out


@dataclass(frozen=True)
class Stack:
    """Timelines of g gymnasts: t screens, m measures, d lasting states, n capacities.

    Attributes
    ----------
    layouts : tuple of Layout
        Each gymnast's own; the rest of her d states is unused.
    counts : (g,) int array
        Screens that each has.
    prior_mean : (g, d) float array
    prior_variance : (g, d) float array
    values : (t, g, m) float array
    matrix : (t, g, m, d) float array
    noise : (t, g, m, m) float array
    drift : (t, g, n) float array
        Expected before each screen; 0 before the first.
    wander : (t, g, n) float array
        Variance gained before each screen.
    bounds : mapping of screen to mapping of gymnast to bounds
    """

    layouts: tuple[Layout, ...]
    counts: NDArray[np.intp]
    prior_mean: Floats
    prior_variance: Floats
    values: Floats
    matrix: Floats
    noise: Floats
    drift: Floats
    wander: Floats
    bounds: Mapping[int, Mapping[int, tuple[Bound, ...]]]


def stack_timelines(
    model: ProgressModel, timelines: Sequence[Timeline], plan: Plan | None = None
) -> Stack:
    """Return timelines as arrays.

    Parameters
    ----------
    model : ProgressModel
    timelines : sequence of Timeline
        At least one.
    plan : Plan, optional
        What a screen to come will measure of each gymnast.
    """
    n = len(model.names)
    layouts = tuple(lay_out(model, one.screens, plan) for one in timelines)
    priors = [layout.prior for layout in layouts]
    measured = [len(s.gathered.evidence.values) for one in timelines for s in one.screens]
    g, t = len(timelines), max(len(one.screens) for one in timelines)
    m, d = max(measured), max(len(prior.mean) for prior in priors)
    bounds: dict[int, dict[int, tuple[Bound, ...]]] = {}
    stack = Stack(
        layouts=layouts,
        counts=np.array([len(one.screens) for one in timelines], dtype=np.intp),
        prior_mean=np.zeros((g, d)),
        prior_variance=np.zeros((g, d)),
        values=np.zeros((t, g, m)),
        matrix=np.zeros((t, g, m, d)),
        noise=np.zeros((t, g, m, m)),
        drift=np.zeros((t, g, n)),
        wander=np.zeros((t, g, n)),
        bounds=bounds,
    )
    for i, (one, layout, prior) in enumerate(zip(timelines, layouts, priors, strict=True)):
        own = len(prior.mean)
        stack.prior_mean[i, :own] = prior.mean
        stack.prior_variance[i, :own] = np.diag(prior.covariance)
        for j, screen in enumerate(one.screens):
            if j:
                stack.drift[j, i] = one.steps[j - 1].drift_mean
                stack.wander[j, i] = one.wander(model, j - 1)
            if screen.gathered.bounds:
                bounds.setdefault(j, {})[i] = layout.bounds(screen)
            rows = layout.rows(screen)
            count = len(rows.values)
            stack.values[j, i, :count] = rows.values
            stack.matrix[j, i, :count, :own] = rows.matrix
            stack.noise[j, i, :count, :count] = rows.noise
    empty = np.arange(m)
    diagonal = stack.noise[:, :, empty, empty]
    stack.noise[:, :, empty, empty] = np.where(diagonal > 0.0, diagonal, 1.0)
    return stack
