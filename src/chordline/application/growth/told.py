"""What is told of a gymnast's growth on a day; codes and figures, words are made elsewhere."""

from dataclasses import dataclass
from datetime import date
from typing import Literal

from chordline.application.club.growth_reference import GrowthReference
from chordline.core.estimate import Estimate
from chordline.core.progress.abstained import Abstained, Reason
from chordline.core.progress.growth_maturity import Maturity

UntoldReason = Reason | Literal["birth-date-not-said", "stature-too-old", "grew-too-fast"]

#: What is in the way, or could be told with one more measurement.
Code = Literal[
    "born-after-the-day",
    "measured-before-birth",
    "stature-shrank",
    "grew-too-fast",
    "implausible",
    "sits-too-tall-or-low",
    "sitting-height-missing",
    "stature-old",
]
#: Of these somebody must say which figure is wrong.
CONTRADICTIONS: tuple[Code, ...] = (
    "born-after-the-day",
    "measured-before-birth",
    "stature-shrank",
    "grew-too-fast",
    "implausible",
    "sits-too-tall-or-low",
)


@dataclass(frozen=True)
class Untold:
    """No figure, and why; `have` and `need` as in `Abstained`."""

    reason: UntoldReason
    have: float | None = None
    need: float | None = None

    @classmethod
    def of(cls, abstained: Abstained) -> "Untold":
        """Return what core abstained from."""
        return cls(abstained.reason, abstained.have, abstained.need)


@dataclass(frozen=True)
class Point:
    """A stature of hers: its day, her age then [years], and the stature [cm]."""

    taken_on: date
    age_years: float
    stature_cm: float


@dataclass(frozen=True)
class Standing:
    """Her latest stature among children of the same age.

    Attributes
    ----------
    at : Point
    z : Estimate
        Standard deviations above the reference's median; the sd is that of the measuring.
    implausible : bool
        Look at the figures again before believing it.
    """

    at: Point
    z: Estimate
    implausible: bool


@dataclass(frozen=True)
class Speed:
    """How fast she grows.

    Attributes
    ----------
    cm_per_year : Estimate [cm/year]
    since, until : date
        Days of the first and the last stature that it rests on.
    statures : int
        How many it rests on.
    """

    cm_per_year: Estimate
    since: date
    until: date
    statures: int


@dataclass(frozen=True)
class Check:
    """Something to measure again, to correct or to add.

    Attributes
    ----------
    code : Code
    days : tuple of date
        The measurements that it is about.
    cm : float or None [cm]
        How much a stature is less, or more, than an earlier one.
    """

    code: Code
    days: tuple[date, ...] = ()
    cm: float | None = None

    @property
    def contradicts(self) -> bool:
        """Whether figures cannot all be right, rather than one being missing."""
        return self.code in CONTRADICTIONS


@dataclass(frozen=True)
class Growth:
    """A gymnast's growth as it is known on a day.

    Attributes
    ----------
    gymnast_id : int
    name : str
    card : int or None
    day : date
    reference : {'girls', 'boys'} or None
    age_years : float or Untold [years]
    points : tuple of Point
        Her statures up to the day, the first first; none without a birth date.
    latest_cm : float or None [cm]
        Also without a birth date.
    standing : Standing or Untold
    speed : Speed or Untold
    fast_growth_probability : float or Untold
        Chance that she grows faster than `fast_cm_per_year` now: for the progress model.
    fast_cm_per_year : float [cm/year]
        The club's threshold.
    maturity : Maturity or Untold
        On the day of her latest stature.
    checks : tuple of Check
        Contradictions first.
    cautious : bool
        The chance of fast growth is large enough to say what to be careful with, and to test her
        again sooner.
    catalogue : str
        Version of the growth catalogue.
    """

    gymnast_id: int
    name: str
    card: int | None
    day: date
    reference: GrowthReference | None
    age_years: float | Untold
    points: tuple[Point, ...]
    latest_cm: float | None
    standing: Standing | Untold
    speed: Speed | Untold
    fast_growth_probability: float | Untold
    fast_cm_per_year: float
    maturity: Maturity | Untold
    checks: tuple[Check, ...]
    cautious: bool
    catalogue: str

    @property
    def retest_sooner(self) -> bool:
        """Whether her next screen should come sooner than without growth."""
        return self.cautious
