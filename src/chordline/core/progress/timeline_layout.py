"""What lasts from screen to screen, as one state: capacities, lasting offsets, her own misfits.

What a screen draws anew (the fresh part of the landmarks' offsets) is integrated out: it becomes
noise that the rows of that screen share.
"""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from chordline.core.capacity.censored import Bound
from chordline.core.capacity.model import Belief
from chordline.core.geometry.angles import Floats
from chordline.core.progress.timeline import Marker, ProgressModel, ScreenAt

#: Test and measure.
Pair = tuple[str, str]


@dataclass(frozen=True)
class Rows:
    """The measures of one screen as rows of the lasting state: y ~ matrix · x + N(0, noise).

    Attributes
    ----------
    values : (m,) float array
        Intercepts taken off.
    matrix : (m, d) float array
    noise : (m, m) float array
    """

    values: Floats
    matrix: Floats
    noise: Floats


@dataclass(frozen=True)
class Plan:
    """What a screen to come will measure.

    Attributes
    ----------
    pairs : tuple of (test, measure)
        Rows of the capacity model; a test that is taken twice stands here twice.
    marker : Marker
        Who will set the landmarks.
    """

    pairs: tuple[Pair, ...]
    marker: Marker


@dataclass(frozen=True)
class Layout:
    """Places of the lasting state.

    Attributes
    ----------
    model : ProgressModel
    markers : tuple of Marker
        Each has its own lasting offsets.
    misfits : tuple of (test, measure)
        Rows seen in more than one screen. A misfit seen once cannot cancel and stays noise.
    """

    model: ProgressModel
    markers: tuple[Marker, ...]
    misfits: tuple[Pair, ...]

    @cached_property
    def states(self) -> tuple[str, ...]:
        """Names: capacities, then offsets by marker, then misfits by test and measure."""
        offsets = (
            f"{one.name}: {nuisance.name}"
            for one in self.markers
            for nuisance in self.model.capacities.nuisances
        )
        return (*self.model.names, *offsets, *(f"{test}.{name}" for test, name in self.misfits))

    @property
    def prior(self) -> Belief:
        """What is believed before the first screen."""
        capacities = self.model.capacities.capacities
        variances = np.concatenate(
            [
                [one.prior_sd**2 for one in capacities],
                *(one.lasting_variances for one in self.markers),
                list(self._misfit_variances.values()),
            ]
        )
        mean = np.zeros(len(variances))
        mean[: len(capacities)] = [one.prior_mean for one in capacities]
        return Belief(self.states, mean, np.diag(variances))

    def spread(self, matrix: Floats, pairs: Sequence[Pair], marker: Marker) -> Floats:
        """Return rows of the capacity model as rows of the lasting state, (m, d)."""
        n, k = len(self.model.names), len(marker.offset_sds)
        if matrix.shape[1] != n + k:
            raise ValueError(f"a row of {matrix.shape[1]} states; the model has {n + k}")
        rows = np.zeros((len(matrix), len(self.states)))
        rows[:, :n] = matrix[:, :n]
        at = self._marker_at[marker.name]
        rows[:, at : at + k] = matrix[:, n:]
        for i, pair in enumerate(pairs):
            if pair in self._misfit_at:
                rows[i, self._misfit_at[pair]] = 1.0
        return rows

    def rows(self, screen: ScreenAt) -> Rows:
        """Return the measures of a screen, its fresh offsets as noise.

        Raises
        ------
        ValueError
            For a measure that is no number or has no noise of its own.
        """
        evidence = screen.gathered.evidence
        noise = evidence.noise.copy()
        noise.flat[:: len(noise) + 1] -= [
            self._misfit_variances.get(pair, 0.0) for pair in screen.measured
        ]
        if not (noise.diagonal() > 0.0).all() or not np.isfinite(evidence.values).all():
            raise ValueError(f"day {screen.day}: a measure is no number or has no noise of its own")
        fresh = evidence.matrix[:, len(self.model.names) :]
        return Rows(
            values=evidence.values - evidence.intercepts,
            matrix=self.spread(evidence.matrix, screen.measured, screen.marker),
            noise=noise + (fresh * screen.marker.fresh_variances) @ fresh.T,
        )

    def bounds(self, screen: ScreenAt) -> tuple[Bound, ...]:
        """Return the bounds of a screen over the lasting state.

        Raises
        ------
        ValueError
            For a bound that leans on the landmarks' offsets: what it would share with the photos
            of its screen is no noise of its own. Holds are timed, not marked.
        """
        n = len(self.model.names)
        bounds = []
        for bound, pair in zip(screen.gathered.bounds, screen.bounded, strict=True):
            variance = bound.variance - self._misfit_variances.get(pair, 0.0)
            if not variance > 0.0:
                raise ValueError(f"{pair[0]}: a bound needs noise of its own")
            if bound.row[n:].any():
                raise ValueError(f"{pair[0]}: a bound cannot lean on where landmarks are set")
            row = self.spread(bound.row[None, :], [pair], screen.marker)[0]
            bounds.append(Bound(bound.above, row, bound.intercept, variance))
        return tuple(bounds)

    @cached_property
    def _misfit_at(self) -> Mapping[Pair, int]:
        """Places of the misfits."""
        first = len(self.model.names) + sum(len(one.offset_sds) for one in self.markers)
        return {pair: first + i for i, pair in enumerate(self.misfits)}

    @cached_property
    def _marker_at(self) -> Mapping[str, int]:
        """First place of each marker's offsets."""
        n = len(self.model.names)
        return {one.name: n + i * len(one.offset_sds) for i, one in enumerate(self.markers)}

    @cached_property
    def _misfit_variances(self) -> Mapping[Pair, float]:
        """Lasting variance of each misfit [its unit²]."""
        known = self.model.capacities.by_measure
        return {
            pair: known[pair][1].model_sd ** 2 * self.model.misfit_share for pair in self.misfits
        }


def lay_out(model: ProgressModel, screens: Iterable[ScreenAt], plan: Plan | None = None) -> Layout:
    """Return the lasting state of a gymnast's screens.

    Parameters
    ----------
    model : ProgressModel
    screens : iterable of ScreenAt
    plan : Plan, optional
        A screen to come: what lasts of its errors has its place too.
    """
    screens = tuple(screens)
    seen = Counter(pair for one in screens for pair in {*one.measured, *one.bounded})
    seen.update(set(plan.pairs) if plan else ())
    markers: dict[str, Marker] = {}
    for marker in (*(one.marker for one in screens), *((plan.marker,) if plan else ())):
        if not markers.setdefault(marker.name, marker).is_like(marker):
            raise ValueError(f"'{marker.name}' stands for two different markers")
    known = model.capacities.by_measure
    misfits = (pair for pair, count in seen.items() if count > 1 and pair in known)
    return Layout(
        model, tuple(markers.values()), tuple(sorted(misfits)) if model.misfit_share > 0.0 else ()
    )
