"""Measurements of one screen as the capacity model takes them."""

from collections.abc import Callable, Sequence
from itertools import combinations

import numpy as np

from chordline.catalogue.schema import Catalogue
from chordline.conventions import curve_of
from chordline.core.body.measurement import Measurement
from chordline.core.capacity.observed import CONTRADICTION_SDS, LEAN_MEASURE, Observed
from chordline.core.estimate import Estimate

#: Systematic errors that all photos of a screen share; nuisances of the model stand for them.
SHARED_TERMS = ("landmark_definition",)

#: Measures that a body with two like sides shows alike from left and right.
_SIDED = ("shoulder_opening_deg", "hip_opening_deg", "knee_opening_deg")


#: What the mechanics read of a handstand: its lean, or None where it cannot be told.
ReadLean = Callable[[Measurement], Estimate | None]


def observe(measurement: Measurement, read_lean: ReadLean) -> Observed:
    """Return a measurement's values with the covariance of what another photo would change.

    The lean of the centre of mass is one of them where it can be read. Its error is taken as its
    own: it comes from all marks, none of which weighs much in it.
    """
    measures = measurement.measures.values()
    own = np.array(
        [
            sum(sd**2 for term, sd in measure.systematic.items() if term not in SHARED_TERMS)
            for measure in measures
        ]
    )
    names = tuple(measurement.measures)
    values = np.array([measure.value for measure in measures])
    covariance = measurement.covariance + np.diag(own)
    lean = read_lean(measurement)
    if lean is not None:
        names = (*names, LEAN_MEASURE)
        values = np.append(values, abs(lean.value))
        covariance = np.pad(covariance, (0, 1))
        covariance[-1, -1] = lean.sd**2
    return Observed(
        source=measurement.photo,
        test=measurement.test,
        names=names,
        values=values,
        covariance=covariance,
    )


def is_by_hand(measurements: Sequence[Measurement]) -> bool:
    """Return whether all landmarks were set by hand, so that their offsets are a hand's."""
    return all(
        mark.origin == "hand"
        for one in measurements
        for name, mark in one.landmarks.items()
        if curve_of(name) is None
    )


def find_one_sided(measurements: Sequence[Measurement], catalogue: Catalogue) -> tuple[str, ...]:
    """Return sentences for tests that the left and the right side show differently beyond error."""
    sentences = []
    repeat = catalogue.setting("repeat_sd_deg")
    for one, other in combinations(measurements, 2):
        if one.test != other.test or one.near_side == other.near_side:
            continue
        for name in _SIDED:
            if name not in one.measures or name not in other.measures:
                continue
            a, b = one.measures[name], other.measures[name]
            sd = float(np.sqrt(a.total_sd**2 + b.total_sd**2 + 2.0 * repeat**2))
            if abs(a.value - b.value) > CONTRADICTION_SDS * sd:
                sentences.append(
                    f"{catalogue.measures[name].label} differ between the {one.near_side} and the "
                    f"{other.near_side} side by {abs(a.value - b.value):.0f}° "
                    f"({one.photo}, {other.photo})"
                )
    return tuple(sentences)
