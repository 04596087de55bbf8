"""From where the scatter of a measure comes: the coach who marks, the hand, the next photo."""

from dataclasses import dataclass

import numpy as np
import scipy  # its parts are loaded when they are used

from chordline.core.geometry.angles import Floats
from chordline.core.progress.abstained import Abstained


@dataclass(frozen=True)
class Component:
    """One source of variance.

    Attributes
    ----------
    variance, low, high : float [unit²]
        With its confidence interval, none below 0.
    cut : bool
        The estimate came out negative and is reported as 0: too small to be seen in this study.
    freedom : int
        Degrees of freedom of the mean square that carries it; with one (two coaches) the upper
        limit is wide for a good reason.
    """

    variance: float
    low: float
    high: float
    cut: bool
    freedom: int

    @property
    def sd(self) -> float:
        """Its standard deviation [unit]."""
        return float(np.sqrt(self.variance))


@dataclass(frozen=True)
class Sources:
    """Sources of variance of one measure.

    Attributes
    ----------
    coach_offset : Component or Abstained
        Between coaches: one reads more than another throughout.
    coach_by_photo : Component or Abstained
        Between coaches: they see one photo differently, beyond their offsets.
    within_coach : Component or Abstained
        One coach marks one photo again. Where nobody marked twice it cannot be told from
        `coach_by_photo`, which then holds both.
    retake : Component or Abstained
        The same test photographed again, marking apart. With one coach it holds what that coach
        sees differently in the two photos.
    subjects, left_out : int
    """

    coach_offset: Component | Abstained
    coach_by_photo: Component | Abstained
    within_coach: Component | Abstained
    retake: Component | Abstained
    subjects: int
    left_out: int


def split_sources(
    marks: Floats, *, fewest_subjects: int = 10, level: float = 0.95
) -> Sources | Abstained:
    """Return how much each source adds to the variance of a reading.

    Parameters
    ----------
    marks : (n, r, c, m) float array [the measure's unit]
        Subject (a gymnast in a test) × photo of it × coach × marking. Subjects with a NaN are left
        out and counted; an axis of length 1 is a source that was not studied.
    fewest_subjects : int
        As `Fewest.subjects`.
    level : float
        Of the intervals.

    Notes
    -----
    Balanced analysis of variance with random effects: photos within subjects, coaches, coaches by
    subjects and by photos, markings. Components by the method of moments; intervals by modified
    large samples, which are approximate. The markings of one coach must be blind to each other.

    References
    ----------
    burdick-graybill-1992, from memory; their coverage is checked by simulation.
    """
    table = np.asarray(marks, dtype=np.float64)
    if table.ndim != 4:
        raise ValueError(f"marks must be (subjects, photos, coaches, markings), not {table.shape}")
    whole = ~np.isnan(table).any(axis=(1, 2, 3))
    table = table[whole]
    n, photos, coaches, markings = table.shape
    if n < max(fewest_subjects, 2):
        return Abstained("too-few-subjects", have=n, need=max(fewest_subjects, 2))
    within = _within(table)
    offset: Component | Abstained = Abstained("one-coach", have=1, need=2)
    crossed: Component | Abstained = offset
    if coaches > 1:
        offset = _difference(_offset(table), _by_subject(table), n * photos * markings, level)
        by_photo = _by_photo(table)
        crossed = (
            _difference(by_photo, within, markings, level)
            if within is not None
            else _alone(by_photo, level)
        )
    retake: Component | Abstained = Abstained("one-photo-a-test", have=1, need=2)
    if photos > 1:
        between = _between_photos(table)
        error = _by_retake(table) if coaches > 1 else within
        retake = (
            _difference(between, error, coaches * markings, level)
            if error is not None
            else _alone(between, level)
        )
    return Sources(
        coach_offset=offset,
        coach_by_photo=crossed,
        within_coach=(
            _alone(within, level)
            if within is not None
            else Abstained("marked-once", have=1, need=2)
        ),
        retake=retake,
        subjects=n,
        left_out=int((~whole).sum()),
    )


@dataclass(frozen=True)
class _MeanSquare:
    value: float
    freedom: int


def _within(table: Floats) -> _MeanSquare | None:
    n, photos, coaches, markings = table.shape
    if markings < 2:
        return None
    freedom = n * photos * coaches * (markings - 1)
    rest = table - table.mean(axis=3, keepdims=True)
    return _MeanSquare(float((rest**2).sum()) / freedom, freedom)


def _by_photo(table: Floats) -> _MeanSquare:
    """All that coaches see differently beyond their offsets, whosever photo it is."""
    n, photos, coaches, markings = table.shape
    cells = table.mean(axis=3).reshape(n * photos, coaches)
    return _crossed(cells, markings, (n * photos - 1) * (coaches - 1))


def _by_subject(table: Floats) -> _MeanSquare:
    """What coaches see differently in a gymnast: the error of their offsets."""
    n, photos, coaches, markings = table.shape
    return _crossed(table.mean(axis=(1, 3)), photos * markings, (n - 1) * (coaches - 1))


def _by_retake(table: Floats) -> _MeanSquare:
    """What coaches see differently in photos of one gymnast: the error of retakes."""
    n, photos, coaches, markings = table.shape
    cells = table.mean(axis=3)
    return _crossed(cells, markings, n * (photos - 1) * (coaches - 1))


def _crossed(cells: Floats, count: int, freedom: int) -> _MeanSquare:
    """Return the interaction's mean square of the last two axes, (…, rows, coaches)."""
    rest = (
        cells
        - cells.mean(axis=-2, keepdims=True)
        - cells.mean(axis=-1, keepdims=True)
        + cells.mean(axis=(-2, -1), keepdims=True)
    )
    return _MeanSquare(count * float((rest**2).sum()) / freedom, freedom)


def _offset(table: Floats) -> _MeanSquare:
    n, photos, coaches, markings = table.shape
    each = table.mean(axis=(0, 1, 3))
    return _MeanSquare(n * photos * markings * float(each.var(ddof=1)), coaches - 1)


def _between_photos(table: Floats) -> _MeanSquare:
    n, photos, coaches, markings = table.shape
    each = table.mean(axis=(2, 3))
    rest = each - each.mean(axis=1, keepdims=True)
    freedom = n * (photos - 1)
    return _MeanSquare(coaches * markings * float((rest**2).sum()) / freedom, freedom)


def _alone(square: _MeanSquare, level: float) -> Component:
    low, high = (
        square.value * square.freedom / float(scipy.stats.chi2.ppf(p, square.freedom))
        for p in (0.5 + level / 2, 0.5 - level / 2)
    )
    return Component(square.value, low, high, cut=False, freedom=square.freedom)


def _difference(above: _MeanSquare, below: _MeanSquare, count: int, level: float) -> Component:
    """Return (above − below) / count with its modified-large-sample interval."""
    a, b, na, nb = above.value, below.value, above.freedom, below.freedom
    up, down = 0.5 + level / 2, 0.5 - level / 2
    chi_up, chi_down = (float(scipy.stats.chi2.ppf(p, na)) / na for p in (up, down))
    chi_b_up, chi_b_down = (float(scipy.stats.chi2.ppf(p, nb)) / nb for p in (up, down))
    f_up, f_down = (float(scipy.stats.f.ppf(p, na, nb)) for p in (up, down))
    g1, h2 = 1 - 1 / chi_up, 1 / chi_b_down - 1
    g12 = ((f_up - 1) ** 2 - (g1 * f_up) ** 2 - h2**2) / f_up
    h1, g2 = 1 / chi_down - 1, 1 - 1 / chi_b_up
    h12 = ((1 - f_down) ** 2 - (h1 * f_down) ** 2 - g2**2) / f_down
    lower = max((g1 * a) ** 2 + (h2 * b) ** 2 + g12 * a * b, 0.0)
    upper = max((h1 * a) ** 2 + (g2 * b) ** 2 + h12 * a * b, 0.0)
    return Component(
        variance=max(0.0, (a - b) / count),
        low=max(0.0, (a - b - np.sqrt(lower)) / count),
        high=max(0.0, (a - b + np.sqrt(upper)) / count),
        cut=a < b,
        freedom=na,
    )
