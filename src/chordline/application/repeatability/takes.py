"""Tests that were photographed twice on one day: what she changes from take to take."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from chordline.application.club.her_screen import counting_measurement
from chordline.application.club.ports import Tx
from chordline.application.club.views import PhotoView
from chordline.application.observations import is_by_hand
from chordline.catalogue.schema import Catalogue
from chordline.core.body.measurement import Measurement
from chordline.core.geometry.angles import Floats
from chordline.core.progress.abstained import Abstained
from chordline.core.progress.agreement_cases import Fewest
from chordline.core.progress.repeatability_pooled import PooledSd, pool_within_sd

#: A gymnast photographed twice in one test, standing up between the takes [min] (assumption: two
#: photos from a phone that stays where it is, in a row of gymnasts that moves on).
MINUTES_A_PAIR = 0.4
#: Where to begin: it asks for shoulders and hips at once, and most gymnasts can do it.
FIRST_TEST = "prone-overhead"
_FEWEST = Fewest()


@dataclass(frozen=True)
class TakeFigures:
    """The scatter of one measure of one test from take to take.

    Attributes
    ----------
    test, measure, label, unit : str
    firsts, seconds : (n,) float arrays
        In the order in which they came in.
    pooled : PooledSd or Abstained
    hand_mark_sd, auto_mark_sd : float
        What setting the landmarks has in it by our account, by hand and by the finder: no change
        of hers. Root mean squares over all pairs.
    """

    test: str
    measure: str
    label: str
    unit: str
    firsts: Floats
    seconds: Floats
    pooled: PooledSd | Abstained
    hand_mark_sd: float
    auto_mark_sd: float


@dataclass(frozen=True)
class TakesOfTest:
    """How often a test was taken twice.

    Attributes
    ----------
    test, title : str
    pairs : int
    missing : int
        Pairs until something can be said.
    measures : tuple of TakeFigures
        Those that the capacity model takes from this test.
    """

    test: str
    title: str
    pairs: int
    missing: int
    measures: tuple[TakeFigures, ...]

    @property
    def minutes(self) -> float:
        """Gym time that the missing pairs take [min]."""
        return MINUTES_A_PAIR * self.missing


def read_takes(tx: Tx, club_id: int, catalogue: Catalogue) -> tuple[TakesOfTest, ...]:
    """Return, for every test that the capacity model knows, what is taken twice of it."""
    return find_takes(tx.studies.taken_twice(club_id), catalogue)


def find_takes(
    views: Sequence[tuple[PhotoView, int]], catalogue: Catalogue
) -> tuple[TakesOfTest, ...]:
    """Return the takes among photos with the ids of their screens, in the order of coming in."""
    groups: dict[tuple[int, str, str, str], list[Measurement]] = defaultdict(list)
    for view, screen_id in views:
        one = counting_measurement(view)
        if one is None or not one.trust.accepted or view.photo.test != one.test:
            continue
        # From the other side, or marked in another way, it is not the same twice.
        groups[screen_id, one.test, one.near_side, one.model].append(one)
    pairs: dict[str, list[tuple[Measurement, Measurement]]] = defaultdict(list)
    for (_, test, _, _), takes in groups.items():
        if len(takes) > 1:
            pairs[test].append((takes[0], takes[1]))
    return tuple(
        _of_test(test, pairs.get(test, []), catalogue)
        for test in catalogue.tests
        if _photographed(test, catalogue)
    )


def _photographed(test: str, catalogue: Catalogue) -> tuple[str, ...]:
    """Return the measures of a test that the model takes from a photo."""
    rows = catalogue.model.get(test, {})
    return tuple(name for name in catalogue.tests[test].measures if name in rows)


def _of_test(
    test: str, pairs: Sequence[tuple[Measurement, Measurement]], catalogue: Catalogue
) -> TakesOfTest:
    figures = []
    for name in _photographed(test, catalogue):
        read = [(a.measures[name], b.measures[name]) for a, b in pairs if _both(a, b, name)]
        if not read:
            continue
        firsts = np.array([a.value for a, _ in read])
        seconds = np.array([b.value for _, b in read])
        figures.append(
            TakeFigures(
                test=test,
                measure=name,
                label=catalogue.measures[name].label,
                unit=read[0][0].unit,
                firsts=firsts,
                seconds=seconds,
                pooled=pool_within_sd(firsts, seconds),
                hand_mark_sd=_mark_sd(pairs, name, by_hand=True),
                auto_mark_sd=_mark_sd(pairs, name, by_hand=False),
            )
        )
    return TakesOfTest(
        test=test,
        title=catalogue.tests[test].title,
        pairs=len(pairs),
        missing=max(0, _FEWEST.subjects - len(pairs)),
        measures=tuple(figures),
    )


def _mark_sd(
    pairs: Sequence[tuple[Measurement, Measurement]], name: str, *, by_hand: bool
) -> float:
    both = [one for a, b in pairs if _both(a, b, name) for one in (a, b)]
    variances = [
        one.measures[name].sd ** 2 if is_by_hand([one]) is by_hand else 0.0 for one in both
    ]
    return float(np.sqrt(np.mean(variances)))


def _both(first: Measurement, second: Measurement, name: str) -> bool:
    return all(
        name in one.measures and np.isfinite(one.measures[name].value) for one in (first, second)
    )
