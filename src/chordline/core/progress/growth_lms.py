"""How a child's size stands among children of the same age and sex: z-scores by L, M and S."""

from dataclasses import dataclass

import numpy as np

from chordline.core.geometry.angles import Floats
from chordline.core.progress.abstained import Abstained
from chordline.core.progress.growth_age import Sex

#: Beyond so many sd a skewed measure's score goes on linearly: WHO's rule, for want of children.
_LINEAR_FROM_SD = 3.0


@dataclass(frozen=True)
class GrowthTable:
    """One measure's reference for one sex.

    Attributes
    ----------
    measure : str
        E.g. `height_for_age`.
    unit : str
    first_month : int
        Age of the first row; a row every month.
    power, median, spread : (n,) float arrays
        The Box-Cox power L, the median M [unit] and the coefficient of variation S.
    skewed : bool
        Scores beyond ±3 go on linearly, in steps of the last sd.
    lowest_z, highest_z : float
        Beyond these a mistake in the figures is likelier than such a child.
    """

    measure: str
    unit: str
    sex: Sex
    first_month: int
    power: Floats
    median: Floats
    spread: Floats
    skewed: bool
    lowest_z: float
    highest_z: float

    @property
    def end_month(self) -> int:
        """The age from which it says nothing."""
        return self.first_month + len(self.median) - 1


@dataclass(frozen=True)
class GrowthScore:
    """A z-score: how many sd above the median.

    Attributes
    ----------
    z : float
        0 = median of the reference, + larger.
    implausible : bool
        Look at the figures again before believing it.
    """

    z: float
    implausible: bool


def score_size(
    table: GrowthTable | None, *, age_months: float, size: float
) -> GrowthScore | Abstained:
    """Return the z-score of one size at one age.

    Parameters
    ----------
    table : GrowthTable or None
        None where the sex was not said: there is no table to take.
    age_months : float [months]
    size : float [the table's unit]

    Returns
    -------
    GrowthScore or Abstained
        Sex not said, not measured (NaN), age outside the table, a size of 0 or less.

    References
    ----------
    who-2007.
    """
    if table is None:
        return Abstained("sex-not-said")
    if np.isnan(size) or np.isnan(age_months):
        return Abstained("not-measured")
    if size <= 0.0:
        return Abstained("impossible-size", have=size, need=0.0)
    if age_months < table.first_month:
        return Abstained("age-below-table", have=age_months, need=float(table.first_month))
    if age_months >= table.end_month:
        return Abstained("age-above-table", have=age_months, need=float(table.end_month))
    z = float(compute_scores(table, np.array([age_months]), np.array([size]))[0])
    return GrowthScore(z, implausible=not table.lowest_z <= z <= table.highest_z)


def compute_scores(table: GrowthTable, ages_months: Floats, sizes: Floats) -> Floats:
    """Return z-scores, (n,); NaN outside the table's ages and for sizes that are not above 0.

    Parameters
    ----------
    table : GrowthTable
    ages_months : (n,) float array [months]
    sizes : (n,) float array [the table's unit]

    Notes
    -----
    L, M and S are interpolated linearly between months, as WHO's programs do. z =
    ((size/M)^L − 1)/(L·S), ln(size/M)/S for L = 0. Skewed measures beyond ±3: 3 + (size −
    SD3)/(SD3 − SD2), and its mirror image below.

    References
    ----------
    who-2007, computation of centiles and z-scores.
    """
    ages, sizes = np.broadcast_arrays(
        np.asarray(ages_months, np.float64), np.asarray(sizes, np.float64)
    )
    told = (ages >= table.first_month) & (ages < table.end_month) & (sizes > 0.0)
    scores = np.full(ages.shape, np.nan)
    months = table.first_month + np.arange(len(table.median), dtype=np.float64)
    power, median, spread = (
        np.interp(ages[told], months, column)
        for column in (table.power, table.median, table.spread)
    )
    size = sizes[told]
    z = _score(size, power, median, spread)
    if table.skewed:
        side = np.where(z < 0.0, -1.0, 1.0)
        sd3 = _size_at(side * 3.0, power, median, spread)
        sd2 = _size_at(side * 2.0, power, median, spread)
        # A step is positive above and negative below: both senses come out right.
        linear = side * (_LINEAR_FROM_SD + (size - sd3) / (sd3 - sd2))
        z = np.where(np.abs(z) > _LINEAR_FROM_SD, linear, z)
    scores[told] = z
    return scores


def size_at_score(table: GrowthTable, *, age_months: float, z: float) -> float:
    """Return the size that has a score of −3 to 3 at an age [the table's unit]; NaN outside it.

    For drawing the bands of the reference behind a child's own sizes.
    """
    if not table.first_month <= age_months < table.end_month or abs(z) > _LINEAR_FROM_SD:
        return float("nan")
    months = table.first_month + np.arange(len(table.median), dtype=np.float64)
    power, median, spread = (
        np.interp(np.array([age_months]), months, column)
        for column in (table.power, table.median, table.spread)
    )
    return float(_size_at(np.array([z]), power, median, spread)[0])


def _score(size: Floats, power: Floats, median: Floats, spread: Floats) -> Floats:
    logs = np.log(size / median)
    # expm1 stays exact where the power comes near 0; there it becomes the logarithm.
    safe = np.where(power == 0.0, 1.0, power)
    return np.where(power == 0.0, logs, np.expm1(safe * logs) / safe) / spread


def _size_at(z: Floats, power: Floats, median: Floats, spread: Floats) -> Floats:
    safe = np.where(power == 0.0, 1.0, power)
    logs = np.where(power == 0.0, spread * z, np.log1p(safe * spread * z) / safe)
    return median * np.exp(logs)
