"""Measures of one body with their random error."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from chordline.core.body.measures import DERIVED, MEASURES, compute_measures
from chordline.core.body.points import BodyPoints
from chordline.core.geometry.angles import Floats
from chordline.core.geometry.propagation import covariance, extend_covariance, jacobian


@dataclass(frozen=True)
class Reading:
    """Values of measures and their covariance, both in the order of `names`."""

    names: tuple[str, ...]
    values: Floats
    covariance: Floats

    @property
    def sd(self) -> Mapping[str, float]:
        """Random error of each measure, in its unit."""
        diagonal = np.sqrt(np.clip(np.diag(self.covariance), 0.0, None))
        return dict(zip(self.names, diagonal.tolist(), strict=True))


def read_body(body: BodyPoints, sd_px: Floats, wanted: Sequence[str]) -> Reading:
    """Measure one body and carry the landmarks' errors through.

    Parameters
    ----------
    body : BodyPoints
        Exactly one body.
    sd_px : (k,) float array [px]
        Random error of each landmark along each axis.
    wanted : sequence of str
        Measures to read.

    Returns
    -------
    Reading
        Only the measures whose landmarks are there.

    Notes
    -----
    First order for smooth measures. Measures with a kink (`DERIVED`) get their moments from the
    Gaussian of the smooth ones they rest on.
    """
    parents = tuple(p for name in wanted if name in DERIVED for p in DERIVED[name].of)
    smooth = tuple(dict.fromkeys([name for name in wanted if name in MEASURES] + list(parents)))
    all_values = compute_measures(body, smooth)[0]
    there = np.isfinite(all_values)
    smooth = tuple(name for name, known in zip(smooth, there, strict=True) if known)
    values = all_values[there]
    slopes = jacobian(lambda xy: compute_measures(body.with_xy(xy), smooth), body.xy_px[0])
    cov = covariance(slopes, sd_px)

    derived = tuple(
        name for name in wanted if name in DERIVED and any(p in smooth for p in DERIVED[name].of)
    )
    if derived:

        def derive(rows: Floats) -> Floats:
            columns = []
            for name in derived:
                known = [smooth.index(p) for p in DERIVED[name].of if p in smooth]
                columns.append(DERIVED[name].compute(rows[:, known]))
            return np.stack(columns, axis=-1)

        cross, own = extend_covariance(values, cov, derive)
        values = np.concatenate([values, derive(values[None])[0]])
        cov = np.block([[cov, cross.T], [cross, own]])

    names = (*smooth, *derived)
    order = [names.index(name) for name in wanted if name in names]
    kept = tuple(names[i] for i in order)
    return Reading(kept, values[order], cov[np.ix_(order, order)])
