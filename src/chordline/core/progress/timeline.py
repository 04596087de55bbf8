"""The screens of one gymnast through time, and what happened between them.

    x(t + Δ) = x(t) + drift + w,   w ~ N(0, Q·Δ)

A day is a whole number counted from any fixed date. All screens of one day are one screen: their
photos share the landmarks' offsets of that day, and takes that contradict each other are found when
a screen is gathered. So two screens of one day are refused here, not merged.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from chordline.core.capacity.model import CapacityModel
from chordline.core.capacity.observed import Gathered
from chordline.core.geometry.angles import Floats


@dataclass(frozen=True)
class Marker:
    """Who sets landmarks, and how much of where he sets them stays from screen to screen.

    An offset is one part that lasts, the same for this gymnast in every screen of this marker, and
    one that is drawn anew for each screen. The lasting part cancels in a change. Between two
    markers nothing lasts.

    Attributes
    ----------
    name : str
        ``hand``, ``auto``, or a coach's name.
    offset_sds : (k,) float array
        Of each nuisance, both parts together.
    lasting_shares : (k,) float array, 0 to 1
        Share of that variance that lasts.

    Raises
    ------
    ValueError
        For a share outside of 0 to 1.
    """

    name: str
    offset_sds: Floats
    lasting_shares: Floats

    def __post_init__(self) -> None:
        if not ((self.lasting_shares >= 0.0) & (self.lasting_shares <= 1.0)).all():
            raise ValueError(f"'{self.name}': a share that lasts lies between 0 and 1")

    @cached_property
    def lasting_variances(self) -> Floats:
        """Variance of the parts that last, (k,)."""
        return np.asarray(self.offset_sds**2 * self.lasting_shares)

    @cached_property
    def fresh_variances(self) -> Floats:
        """Variance of the parts that each screen draws anew, (k,)."""
        return np.asarray(self.offset_sds**2 * (1.0 - self.lasting_shares))

    def is_like(self, other: "Marker") -> bool:
        """Return whether another marker is the same."""
        return (
            self.name == other.name
            and np.array_equal(self.offset_sds, other.offset_sds)
            and np.array_equal(self.lasting_shares, other.lasting_shares)
        )


@dataclass(frozen=True)
class ProgressModel:
    """The capacities and how they move by themselves.

    Attributes
    ----------
    capacities : CapacityModel
    wander_variance_per_day : (n,) float array
        Q: variance that a capacity gains a day without growth and training [unit²/day].
    misfit_share : float, 0 to 1
        Share of a row's model error that is hers, the same in every screen. It cancels in a change.
    """

    capacities: CapacityModel
    wander_variance_per_day: Floats
    misfit_share: float

    @cached_property
    def names(self) -> tuple[str, ...]:
        """Names of the capacities."""
        return tuple(one.name for one in self.capacities.capacities)


@dataclass(frozen=True)
class ScreenAt:
    """What one screen showed, on which day, and who set its landmarks. It may show nothing."""

    day: int
    gathered: Gathered
    marker: Marker

    @cached_property
    def measured(self) -> tuple[tuple[str, str], ...]:
        """Test and measure of each row of the evidence."""
        labels = self.gathered.labels[: len(self.gathered.evidence.values)]
        return tuple((label.test, label.measure) for label in labels)

    @cached_property
    def bounded(self) -> tuple[tuple[str, str], ...]:
        """Test and measure of each bound."""
        labels = self.gathered.labels[len(self.gathered.evidence.values) :]
        return tuple((label.test, label.measure) for label in labels)


@dataclass(frozen=True)
class Step:
    """What is expected between two screens.

    Attributes
    ----------
    drift_mean : (n,) float array
        Expected change of each shortfall over the whole interval [unit]. What training takes off
        is negative, what growth adds is positive.
    drift_variance : (n,) float array
        How uncertain that is [unit²]; it adds to the wander.
    growth_factor : float, at least 1
        By how much growth multiplies the wander.
    """

    drift_mean: Floats
    drift_variance: Floats
    growth_factor: float = 1.0

    @classmethod
    def quiet(cls, size: int) -> "Step":
        """Return a step in which nothing is expected of `size` capacities."""
        return cls(np.zeros(size), np.zeros(size))


@dataclass(frozen=True)
class Timeline:
    """All screens of a gymnast, oldest first, and the steps between neighbours.

    Raises
    ------
    ValueError
        For no screen, days that do not rise, a wrong number of steps, or steps that cannot be.
    """

    screens: tuple[ScreenAt, ...]
    steps: tuple[Step, ...]

    def __post_init__(self) -> None:
        if not self.screens:
            raise ValueError("a timeline needs at least one screen")
        if len(self.steps) != len(self.screens) - 1:
            raise ValueError(f"{len(self.screens)} screens have {len(self.screens) - 1} steps")
        for one, other in zip(self.screens, self.screens[1:], strict=False):
            if other.day == one.day:
                raise ValueError(f"two screens on day {one.day}: the tests of one day are one")
            if other.day < one.day:
                raise ValueError(f"day {other.day} comes after day {one.day}: oldest first")
        for step in self.steps:
            finite = np.isfinite(step.drift_mean).all() and np.isfinite(step.drift_variance).all()
            if not finite or (step.drift_variance < 0.0).any():
                raise ValueError("a drift must be a number, its variance not negative")
            if not (np.isfinite(step.growth_factor) and step.growth_factor >= 1.0):
                raise ValueError("growth widens the wander: its factor is at least 1")

    @property
    def days(self) -> tuple[int, ...]:
        """Day of each screen."""
        return tuple(one.day for one in self.screens)

    def wander(self, model: ProgressModel, i: int) -> Floats:
        """Return the variance that each capacity gains between screens i and i + 1 [unit²]."""
        days = self.screens[i + 1].day - self.screens[i].day
        step = self.steps[i]
        return model.wander_variance_per_day * days * step.growth_factor + step.drift_variance

    def without_expectations(self) -> "Timeline":
        """Return the same screens with no change expected in either direction.

        How far training and growth may have led stays believed, which way goes: a drift becomes
        one of mean 0 with the same mean square.
        """
        steps = tuple(
            Step(
                np.zeros_like(step.drift_mean),
                step.drift_variance + step.drift_mean**2,
                step.growth_factor,
            )
            for step in self.steps
        )
        return Timeline(self.screens, steps)


def plain_timeline(model: ProgressModel, screens: tuple[ScreenAt, ...]) -> Timeline:
    """Return a timeline in which nothing is known of what happened between the screens."""
    quiet = Step.quiet(len(model.names))
    return Timeline(screens, (quiet,) * max(len(screens) - 1, 0))
