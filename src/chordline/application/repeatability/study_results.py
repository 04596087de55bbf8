"""What a study of marks says: per measure, between coaches and within each."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from chordline.application.club.ports import Tx
from chordline.application.repeatability.records import TURNS, Study, Task
from chordline.catalogue.schema import Catalogue
from chordline.core.geometry.angles import Floats
from chordline.core.progress.abstained import Abstained
from chordline.core.progress.agreement_cases import Fewest
from chordline.core.progress.agreement_limits import Limits, compare_pairs
from chordline.core.progress.repeatability import Repeatability, estimate_repeatability
from chordline.core.progress.repeatability_sources import Sources, split_sources

_FEWEST = Fewest()
#: Openings of joints: what the others rest on, told first.
JOINTS = ("shoulder_opening_deg", "hip_opening_deg", "knee_opening_deg")


@dataclass(frozen=True)
class Progress:
    """How far a coach is.

    Attributes
    ----------
    coach : str
    done, total : int
        Markings, the second ones included.
    photos : int
        Photos that she marked at least once.
    left_out : bool
        Whether somebody wished her out of the results.
    """

    coach: str
    done: int
    total: int
    photos: int
    left_out: bool

    @property
    def counts(self) -> bool:
        """Whether she is in what coaches are compared by: enough photos, and not left out."""
        return not self.left_out and self.photos >= _FEWEST.subjects


@dataclass(frozen=True)
class Pair:
    """Two series of markings of the same photos compared.

    Attributes
    ----------
    first, second : str
        Whose; alike where one coach marked twice.
    firsts, seconds : (n,) float arrays
        Photos that both have.
    limits : Limits or Abstained
    """

    first: str
    second: str
    firsts: Floats
    seconds: Floats
    limits: Limits | Abstained

    @property
    def by_one(self) -> bool:
        """Whether one coach marked twice."""
        return self.first == self.second


@dataclass(frozen=True)
class MeasureResult:
    """What the study says of one measure.

    Attributes
    ----------
    name, label, unit : str
    photos : int
        Photos in which somebody read it.
    between : Repeatability or Abstained
        A column a coach, first markings.
    within : mapping of coach to (Repeatability or Abstained)
        A column a turn.
    sources : Sources or Abstained
        Offset between coaches, what they see differently in a photo, one coach again.
    pairs : tuple of Pair
        Coach against coach, then each coach against herself.
    predicted_sd, predicted_definition_sd : float
        Root mean square of what our defaults say of these photos.
    """

    name: str
    label: str
    unit: str
    photos: int
    between: Repeatability | Abstained
    within: Mapping[str, Repeatability | Abstained]
    sources: Sources | Abstained
    pairs: tuple[Pair, ...]
    predicted_sd: float
    predicted_definition_sd: float


@dataclass(frozen=True)
class StudyResults:
    """Everything that a study says.

    Attributes
    ----------
    study : Study
    coaches : tuple of Progress
        By name.
    measures : tuple of MeasureResult
        The joints first.
    """

    study: Study
    coaches: tuple[Progress, ...]
    measures: tuple[MeasureResult, ...]

    @property
    def says_something(self) -> bool:
        """Whether there is a figure for any measure."""
        return any(not isinstance(one.sources, Abstained) for one in self.measures)


def read_results(
    tx: Tx, study_id: int, catalogue: Catalogue, *, without: Collection[str] = ()
) -> StudyResults:
    """Return what a study says now, some coaches left out."""
    study = tx.studies.get(study_id)
    return find_results(study, tx.studies.tasks(study_id), catalogue, without=without)


def find_results(
    study: Study, tasks: Sequence[Task], catalogue: Catalogue, *, without: Collection[str] = ()
) -> StudyResults:
    """Return what the tasks of a study say."""
    left_out = {name.casefold() for name in without}
    coaches = tuple(
        _progress(coach, [one for one in tasks if one.coach == coach], left_out)
        for coach in sorted({one.coach for one in tasks})
    )
    done = [
        one for one in tasks if one.done_at is not None and one.coach.casefold() not in left_out
    ]
    named = {name for one in done for name in one.readings}
    order = [*JOINTS, *(name for name in catalogue.measures if name not in JOINTS)]
    counting = tuple(one.coach for one in coaches if one.counts)
    measures = tuple(
        _measure(name, done, catalogue, coaches=counting, twice=study.twice)
        for name in order
        if name in named
    )
    return StudyResults(study, coaches, measures)


def _progress(coach: str, tasks: Sequence[Task], left_out: Collection[str]) -> Progress:
    done = [one for one in tasks if one.done_at is not None]
    return Progress(
        coach=coach,
        done=len(done),
        total=len(tasks),
        photos=len({one.photo_id for one in done}),
        left_out=coach.casefold() in left_out,
    )


def _measure(
    name: str,
    done: Sequence[Task],
    catalogue: Catalogue,
    *,
    coaches: tuple[str, ...],
    twice: bool,
) -> MeasureResult:
    read = [one for one in done if name in one.readings]
    photos = sorted({one.photo_id for one in read})
    everybody = tuple(sorted({one.coach for one in done}))
    row = {photo: i for i, photo in enumerate(photos)}
    table = np.full((len(photos), len(everybody), len(TURNS)), np.nan)
    for one in read:
        table[row[one.photo_id], everybody.index(one.coach), one.turn - 1] = one.readings[
            name
        ].value
    counting = [everybody.index(coach) for coach in coaches]
    joint = table[:, counting, :]
    pairs = [
        _pair(coaches[a], coaches[b], joint[:, a, 0], joint[:, b, 0])
        for a, b in combinations(range(len(coaches)), 2)
    ]
    if twice:
        pairs += [_pair(c, c, joint[:, i, 0], joint[:, i, 1]) for i, c in enumerate(coaches)]
    readings = [one.readings[name] for one in read]
    return MeasureResult(
        name=name,
        label=catalogue.measures[name].label,
        unit=readings[0].unit,
        photos=len(photos),
        between=estimate_repeatability(joint[:, :, 0]),
        within={
            coach: estimate_repeatability(table[:, i]) if twice else _once()
            for i, coach in enumerate(everybody)
        },
        sources=_sources(joint, twice=twice),
        pairs=tuple(pairs),
        predicted_sd=_rms([one.sd for one in readings]),
        predicted_definition_sd=_rms([one.definition_sd for one in readings]),
    )


def _once() -> Abstained:
    return Abstained("marked-once", have=1, need=2)


def _sources(joint: Floats, *, twice: bool) -> Sources | Abstained:
    """Return the sources of variance; of both markings where enough photos have both."""
    if joint.shape[1] == 0:
        return Abstained("too-few-raters", have=0, need=1)
    both = split_sources(joint[:, None, :, :]) if twice else None
    if isinstance(both, Sources):
        return both
    if joint.shape[1] == 1:
        return both or Abstained("too-few-raters", have=1, need=2)
    return split_sources(joint[:, None, :, :1])


def _pair(first: str, second: str, firsts: Floats, seconds: Floats) -> Pair:
    whole = ~np.isnan(firsts) & ~np.isnan(seconds)
    return Pair(first, second, firsts[whole], seconds[whole], compare_pairs(firsts, seconds))


def _rms(values: Sequence[float]) -> float:
    return float(np.sqrt(np.mean(np.square(values))))
