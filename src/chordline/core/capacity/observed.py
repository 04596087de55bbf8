"""What the tests of one screen measured, checked before any of it is believed."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from chordline.core.capacity.censored import Bound
from chordline.core.capacity.model import CapacityModel, rows_of
from chordline.core.capacity.update import Evidence
from chordline.core.geometry.angles import Floats

#: Two takes of one test farther apart than this many sds contradict each other: one pair in a
#: thousand does so by chance.
CONTRADICTION_SDS = 3.29


@dataclass(frozen=True)
class Observed:
    """The measures of one test from one photo, video or stopwatch.

    Attributes
    ----------
    source : str
        Which photo or entry, for reasons.
    test : str
    names : tuple of str
    values : (m,) float array
        In the measures' units.
    covariance : (m, m) float array
        Of everything that another take would change, and of what is particular to this take.
    """

    source: str
    test: str
    names: tuple[str, ...]
    values: Floats
    covariance: Floats

    def variance(self, name: str) -> float:
        """Return the variance of one measure."""
        i = self.names.index(name)
        return float(self.covariance[i, i])

    def value(self, name: str) -> float:
        """Return one measure."""
        return float(self.values[self.names.index(name)])


@dataclass(frozen=True)
class Held:
    """Seconds of a hold, by clock or video.

    Attributes
    ----------
    source, test : str
    seconds : float
    rel_sd : float
        Relative error of the time.
    reached_cap : bool
        Whether she was stopped rather than broke: at least so long.
    """

    source: str
    test: str
    seconds: float
    rel_sd: float
    reached_cap: bool


#: Name of the measure under which holds stand in the model.
HOLD_MEASURE = "hold_log_s"
#: Name of the measure under which balance over the hand does: how far the centre of mass leans off
#: the middle of the support, seen from there, either way [deg].
LEAN_MEASURE = "balance_lean_deg"
#: Measures that no photo has by itself.
DERIVED_MEASURES = (HOLD_MEASURE, LEAN_MEASURE)


@dataclass(frozen=True)
class Fault:
    """Something that cannot be used, and why. It is shown, never averaged away."""

    source: str
    test: str
    measure: str
    why: str


@dataclass(frozen=True)
class Label:
    """Which source, test and measure a row of evidence is."""

    source: str
    test: str
    measure: str


@dataclass(frozen=True)
class Gathered:
    """Evidence with the labels of its rows, bounds with theirs, and what was put aside."""

    evidence: Evidence
    bounds: tuple[Bound, ...]
    labels: tuple[Label, ...]
    faults: tuple[Fault, ...]


def gather(
    model: CapacityModel, observed: Sequence[Observed], held: Sequence[Held] = ()
) -> Gathered:
    """Return the evidence of a screen.

    Measures without a row in the model are not used and are no fault; nor is one that a better one
    of the same photo stands for (`ModelRow.instead_of`). Measures with an impossible error, and
    takes of one test that contradict each other, are put aside and named.
    """
    known_tests = set(model.by_test)
    named = [(one.source, one.test) for one in observed] + [(one.source, one.test) for one in held]
    faults = [
        Fault(source, test, "", "the capacity model does not know this test")
        for source, test in named
        if test not in known_tests
    ]
    faults += [fault for one in observed for fault in _impossible(one, model)]
    faults += _contradictions(model, observed, impossible=_places(faults))
    bad = _places(faults)
    labels, rows, values, blocks = [], [], [], []
    for one in observed:
        kept = [
            name
            for name in one.names
            if (one.test, name) in model.by_measure and (one.source, one.test, name) not in bad
        ]
        better = {model.by_measure[one.test, name][1].instead_of for name in kept}
        kept = [name for name in kept if name not in better]
        if not kept:
            continue
        index = [one.names.index(name) for name in kept]
        row = rows_of(model, [(one.test, name) for name in kept])
        rows.append(row)
        values.append(one.values[index])
        blocks.append(one.covariance[np.ix_(index, index)] + np.diag(model.extra_variances[row]))
        labels += [Label(one.source, one.test, name) for name in kept]
    bounds, bound_labels = [], []
    for hold in held:
        if (hold.test, HOLD_MEASURE) not in model.by_measure:
            continue
        if not (hold.seconds > 0.0 and np.isfinite(hold.seconds) and hold.rel_sd > 0.0):
            why = f"{hold.seconds:g} s is no time that a hold can last"
            faults.append(Fault(hold.source, hold.test, HOLD_MEASURE, why))
            continue
        row = rows_of(model, [(hold.test, HOLD_MEASURE)])
        variance = float(model.extra_variances[row[0]]) + hold.rel_sd**2
        label = Label(hold.source, hold.test, HOLD_MEASURE)
        if hold.reached_cap:
            matrix_row = model.matrix[row[0]]
            intercept = float(model.intercepts[row[0]])
            bounds.append(Bound(float(np.log(hold.seconds)), matrix_row, intercept, variance))
            bound_labels.append(label)
        else:
            rows.append(row)
            values.append(np.array([np.log(hold.seconds)]))
            blocks.append(np.array([[variance]]))
            labels.append(label)
    all_rows = np.concatenate(rows) if rows else np.zeros(0, dtype=np.intp)
    evidence = Evidence(
        values=np.concatenate(values) if values else np.zeros(0),
        matrix=model.matrix[all_rows],
        intercepts=model.intercepts[all_rows],
        noise=_block_diagonal(blocks),
    )
    return Gathered(evidence, tuple(bounds), (*labels, *bound_labels), tuple(faults))


def _impossible(one: Observed, model: CapacityModel) -> list[Fault]:
    faults = []
    for i, name in enumerate(one.names):
        if (one.test, name) not in model.by_measure:
            continue
        value, variance = one.values[i], one.covariance[i, i]
        if not np.isfinite(value):
            faults.append(Fault(one.source, one.test, name, "its value is no number"))
        elif not (np.isfinite(variance) and variance > 0.0):
            why = "its error is zero or no number; no measurement is that sure"
            faults.append(Fault(one.source, one.test, name, why))
    return faults


def _places(faults: Sequence[Fault]) -> set[tuple[str, str, str]]:
    return {(fault.source, fault.test, fault.measure) for fault in faults}


def _contradictions(
    model: CapacityModel,
    observed: Sequence[Observed],
    *,
    impossible: set[tuple[str, str, str]],
) -> list[Fault]:
    faults = []
    for one, other in combinations(observed, 2):
        if one.test != other.test:
            continue
        for name in one.names:
            if name not in other.names or (one.test, name) not in model.by_measure:
                continue
            if {(take.source, take.test, name) for take in (one, other)} & impossible:
                continue
            repeat = model.by_measure[one.test, name][1].repeat_sd
            difference = abs(one.value(name) - other.value(name))
            sd = np.sqrt(one.variance(name) + other.variance(name) + 2.0 * repeat**2)
            if difference > CONTRADICTION_SDS * sd:
                why = (
                    f"{one.source} and {other.source} say {one.value(name):.0f} and "
                    f"{other.value(name):.0f}: look at both, take the test again"
                )
                faults.append(Fault(one.source, one.test, name, why))
                faults.append(Fault(other.source, other.test, name, why))
    return faults


def _block_diagonal(blocks: Sequence[Floats]) -> Floats:
    size = sum(len(block) for block in blocks)
    out = np.zeros((size, size))
    at = 0
    for block in blocks:
        out[at : at + len(block), at : at + len(block)] = block
        at += len(block)
    return out
