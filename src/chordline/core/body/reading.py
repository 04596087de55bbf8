"""Measures of one body with their random error."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from chordline.core.body.measures import DERIVED, MEASURES, compute_measures
from chordline.core.body.points import BodyPoints
from chordline.core.geometry.angles import Floats
from chordline.core.geometry.propagation import (
    covariance,
    extend_covariance,
    jacobian,
    sample_covariance,
)


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
        Random error of each landmark along each axis; not read where a landmark is missing.
    wanted : sequence of str
        Measures to read.

    Returns
    -------
    Reading
        Only the measures whose landmarks are there.

    Raises
    ------
    ValueError
        With more or fewer bodies than one, or a landmark whose error is not known.

    Notes
    -----
    First order where a measure is straight within the landmarks' errors. The others (of curves,
    whose marks stand close) get their moments from a fixed set of Gaussian landmarks. Measures with
    a kink in others (`DERIVED`) get theirs from the Gaussian of the ones they rest on.
    """
    if len(body.xy_px) != 1:
        raise ValueError(f"one body is read at a time, not {len(body.xy_px)}")
    present = np.isfinite(body.xy_px[0]).all(axis=-1)
    if not (sd_px[present] >= 0.0).all() or not np.isfinite(sd_px[present]).all():
        raise ValueError("every landmark that is there needs an error of 0 px or more")
    parents = tuple(p for name in wanted if name in DERIVED for p in DERIVED[name].of)
    asked = tuple(dict.fromkeys([name for name in wanted if name in MEASURES] + list(parents)))
    known = np.isfinite(compute_measures(body, asked)[0])
    there = [name for name, is_known in zip(asked, known, strict=True) if is_known]
    straight = tuple(name for name in there if MEASURES[name].straight)
    bent = tuple(name for name in there if not MEASURES[name].straight)

    def measure(names: tuple[str, ...]) -> Callable[[Floats], Floats]:
        return lambda xy_px: compute_measures(body.with_xy(xy_px), names)

    slopes = jacobian(measure(straight), body.xy_px[0])
    cov = covariance(slopes, sd_px)
    if bent:
        cross, own = sample_covariance(measure(bent), body.xy_px[0], sd_px, slopes)
        cov = np.block([[cov, cross.T], [cross, own]])
    plain = (*straight, *bent)
    values = compute_measures(body, plain)[0]

    derived = tuple(
        name for name in wanted if name in DERIVED and any(p in plain for p in DERIVED[name].of)
    )
    if derived:

        def derive(rows: Floats) -> Floats:
            columns = []
            for name in derived:
                parts = [plain.index(p) for p in DERIVED[name].of if p in plain]
                columns.append(DERIVED[name].compute(rows[:, parts]))
            return np.stack(columns, axis=-1)

        cross, own = extend_covariance(values, cov, derive)
        values = np.concatenate([values, derive(values[None])[0]])
        cov = np.block([[cov, cross.T], [cross, own]])

    names = (*plain, *derived)
    order = [names.index(name) for name in wanted if name in names]
    kept = tuple(names[i] for i in order)
    return Reading(kept, values[order], cov[np.ix_(order, order)])
