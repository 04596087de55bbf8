"""What the same measure of the same test showed in two screens, without any model of the body.

The model's own error is no part of it: it concerns what a measure says of a capacity, not the
measure. What she changes from take to take, the measurement's own error and the part of the
landmarks' offsets that does not last are.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import scipy  # its parts are loaded when they are used

from chordline.core.estimate import Estimate
from chordline.core.geometry.angles import Floats
from chordline.core.progress.timeline import ProgressModel, ScreenAt
from chordline.core.progress.timeline_layout import Pair


@dataclass(frozen=True)
class MeasuredChange:
    """One measure of one test in two screens.

    Attributes
    ----------
    test, measure : str
    before, after : float
        Mean over the takes of a screen, in the measure's unit and sense.
    change, sd : float
        After minus before.
    detectable : float
        Minimal detectable change: the smallest that is beyond error.
    """

    test: str
    measure: str
    before: float
    after: float
    change: float
    sd: float
    detectable: float

    @property
    def beyond_error(self) -> bool:
        """Whether the change is larger than error alone would make it."""
        return abs(self.change) > self.detectable


def compare_measures(
    model: ProgressModel, earlier: ScreenAt, later: ScreenAt, *, confidence: float
) -> tuple[MeasuredChange, ...]:
    """Return the changes of all measures that both screens have, in the order of the battery.

    Parameters
    ----------
    model : ProgressModel
    earlier, later : ScreenAt
    confidence : float
        Two-sided; 0.95 calls one change in twenty by chance.

    Notes
    -----
    Capped holds are bounds, not measures; they are not compared.
    """
    limit = float(scipy.special.ndtri(0.5 + confidence / 2.0))
    offsets = _offset_variances(earlier, later)
    before, after = _means(model, earlier), _means(model, later)
    nuisances = [one.name for one in model.capacities.nuisances]
    found = []
    for pair, (_, row) in model.capacities.by_measure.items():
        if pair not in before or pair not in after:
            continue
        loads = np.array([row.loads.get(name, 0.0) for name in nuisances])
        variance = before[pair].sd ** 2 + after[pair].sd ** 2 + float(loads**2 @ offsets)
        sd = float(np.sqrt(variance))
        found.append(
            MeasuredChange(
                test=pair[0],
                measure=pair[1],
                before=before[pair].value,
                after=after[pair].value,
                change=after[pair].value - before[pair].value,
                sd=sd,
                detectable=limit * sd,
            )
        )
    return tuple(found)


def _offset_variances(earlier: ScreenAt, later: ScreenAt) -> Floats:
    """Return the variance of the difference of each offset, (k,)."""
    one, other = earlier.marker, later.marker
    if one.name == other.name:
        return one.fresh_variances + other.fresh_variances
    return np.asarray(one.offset_sds**2 + other.offset_sds**2)


def _means(model: ProgressModel, screen: ScreenAt) -> Mapping[Pair, Estimate]:
    """Return the mean of each measure's takes and its error without model and offsets."""
    evidence, labels = screen.gathered.evidence, screen.gathered.labels
    takes: dict[Pair, list[int]] = {}
    for i, label in enumerate(labels[: len(evidence.values)]):
        takes.setdefault((label.test, label.measure), []).append(i)
    means = {}
    for pair, places in takes.items():
        _, row = model.capacities.by_measure[pair]
        noise = evidence.noise[np.ix_(places, places)] - row.model_sd**2 * np.eye(len(places))
        value = float(evidence.values[places].mean())
        means[pair] = Estimate(value, float(np.sqrt(noise.mean())))
    return means
