"""What is told of a gymnast's progress; words are made elsewhere."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from chordline.application.club.records import GymnastRecord
from chordline.application.progress.timelines import Counted
from chordline.core.estimate import Estimate
from chordline.core.progress.change import Answer, Change
from chordline.core.progress.change_measured import MeasuredChange
from chordline.core.progress.retest import Why


class Standing(StrEnum):
    """What is said of a change: real, none worth knowing, or not yet known."""

    BETTER = "real change: yes, less is missing"
    WORSE = "real change: yes, more is missing"
    NO = "real change: no"
    NOT_YET_KNOWN = "real change: not yet known"


def standing_of(change: Change) -> Standing:
    """Return what is said of a change; 'no' only where both directions are ruled out."""
    if change.better is Answer.YES:
        return Standing.BETTER
    if change.worse is Answer.YES:
        return Standing.WORSE
    both = change.better is Answer.NO and change.worse is Answer.NO
    return Standing.NO if both else Standing.NOT_YET_KNOWN


@dataclass(frozen=True)
class CurvePoint:
    """A shortfall on a day.

    Attributes
    ----------
    day : date
    mean, sd : float [the capacity's unit]
        Positive = missing.
    measured : bool or None
        Whether that day's screen measured it; None on a day between screens.
    """

    day: date
    mean: float
    sd: float
    measured: bool | None


@dataclass(frozen=True)
class Since:
    """The change of one capacity against an earlier screen.

    Attributes
    ----------
    day : date
        Of the earlier screen.
    change : Change
    standing : Standing
    worth : float
        Smallest change worth knowing [the capacity's unit].
    done_min : float [min]
        Work done on this capacity between both screens.
    ask : str or None
        The test whose repetition tells most of it, where it is not yet known.
    """

    day: date
    change: Change
    standing: Standing
    worth: float
    done_min: float
    ask: str | None


@dataclass(frozen=True)
class CapacityProgress:
    """One tested capacity through her screens.

    Attributes
    ----------
    name, label : str
    curve : tuple of CurvePoint
        Every screen and places between, up to today; all tests considered, none expected.
    known : bool
        Whether its latest point is known well enough for a word.
    since_last, since_first : Since or None
        Against the screen before and the first one; None with one screen.
    """

    name: str
    label: str
    curve: tuple[CurvePoint, ...]
    known: bool
    since_last: Since | None
    since_first: Since | None

    @property
    def at_screens(self) -> tuple[CurvePoint, ...]:
        """Its points at the screens."""
        return tuple(one for one in self.curve if one.measured is not None)

    @property
    def latest(self) -> CurvePoint:
        """Her shortfall at the latest screen."""
        return self.at_screens[-1]


@dataclass(frozen=True)
class HerRetest:
    """When to test a gymnast again.

    Attributes
    ----------
    gymnast : GymnastRecord
    last, due : date
        Of her latest screen, and from when on another one tells something.
    why : Why
    capacity : str or None
        The one that calls for it.
    power : float
        Probability that a change of the capacities worked on would be seen then.
    gain : Estimate or None
        What the plan is expected to have taken off that capacity by then [its unit].
    growing : bool
        Whether growth may bring it nearer.
    """

    gymnast: GymnastRecord
    last: date
    due: date
    why: Why
    capacity: str | None
    power: float
    gain: Estimate | None
    growing: bool

    def is_due(self, day: date) -> bool:
        """Return whether the day has come."""
        return self.due <= day


@dataclass(frozen=True)
class Progress:
    """A gymnast's progress.

    Attributes
    ----------
    gymnast : GymnastRecord
    day : date
    screens : tuple of Counted
        The oldest first.
    empty : int
        Screens of which nothing counts.
    capacities : tuple of CapacityProgress
        Those that her tests told something of, in the order of the catalogue.
    measured_last, measured_first : tuple of MeasuredChange
        The same measures of the same tests, without a model.
    done_min : mapping of capacity to float [min]
        Work since her latest screen.
    retest : HerRetest or None
        None without a screen.
    """

    gymnast: GymnastRecord
    day: date
    screens: tuple[Counted, ...]
    empty: int
    capacities: tuple[CapacityProgress, ...]
    measured_last: tuple[MeasuredChange, ...]
    measured_first: tuple[MeasuredChange, ...]
    done_min: Mapping[str, float]
    retest: HerRetest | None
