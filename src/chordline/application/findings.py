"""What a screen tells of one gymnast: the record behind table, page, sheet and JSON."""

from dataclasses import dataclass

from chordline.application.forecast.told import LineForecast
from chordline.core.body.verdict import Verdict
from chordline.core.capacity.compensation import Compensation
from chordline.core.capacity.model import Belief
from chordline.core.capacity.observed import Fault


@dataclass(frozen=True)
class CapacityFinding:
    """One capacity.

    Attributes
    ----------
    name, label : str
    mean, sd : float
        Shortfall in the unit of the name; positive = missing.
    p_limiter : float
        Probability that it is above its threshold.
    tested : bool
        Whether a test of this screen told anything of it.
    verdict : Verdict
    words : str
        The shortfall in words.
    """

    name: str
    label: str
    mean: float
    sd: float
    p_limiter: float
    tested: bool
    verdict: Verdict
    words: str


@dataclass(frozen=True)
class Reason:
    """One measure that moved a capacity.

    Attributes
    ----------
    sentence : str
    source : str
        The photo or entry that shows it.
    test, measure : str
    shift : float
        How far it moved the estimate, in the capacity's unit.
    """

    sentence: str
    source: str
    test: str
    measure: str
    shift: float


@dataclass(frozen=True)
class LimiterFinding:
    """Something that limits her, with its reasons and the work that fits it."""

    capacity: str
    label: str
    what: str
    p: float
    straightening_deg: float
    words: str
    work: str
    reasons: tuple[Reason, ...]


@dataclass(frozen=True)
class UndecidedFinding:
    """What cannot be told yet, and what would decide it.

    `ask_test` is None where no test left could decide it.
    """

    capacities: tuple[str, ...]
    sentence: str
    ask_test: str | None


@dataclass(frozen=True)
class TestOffer:
    """The test worth doing next, and why."""

    __test__ = False

    test: str
    title: str
    how: str
    minutes: float
    gain_bits: float
    sentence: str


@dataclass(frozen=True)
class Stop:
    """A reported sign: what to do, and which tests are not to be done."""

    flag: str
    label: str
    advice: str
    tests: tuple[str, ...]


@dataclass(frozen=True)
class Findings:
    """Everything that a screen told of a gymnast.

    Attributes
    ----------
    gymnast : str
    card : int or None
    screen : str
        Which screen: the folder's name, or its date.
    belief : Belief
        The whole posterior, for what builds on it.
    capacities, limiters, undecided, next_test
        Limiters strongest first, empty when none; `next_test` None when none is worth its time.
    more_tests : tuple of TestOffer
        All tests left, best first (the full screen).
    compensations : tuple of (Compensation, str)
        Each with its sentence.
    faults : tuple of Fault
        What was put aside, and why.
    not_used : tuple of str
        Photos that need a look before they may count.
    stops : tuple of Stop
    cautions : tuple of str
    minutes_spent : float
        Gym time of the tests done.
    catalogue_version, models
    forecast : LineForecast or None
        The straightest handstand she can reach; None where it was not asked for or too little is
        tested.
    """

    gymnast: str
    card: int | None
    screen: str
    belief: Belief
    capacities: tuple[CapacityFinding, ...]
    limiters: tuple[LimiterFinding, ...]
    undecided: tuple[UndecidedFinding, ...]
    next_test: TestOffer | None
    more_tests: tuple[TestOffer, ...]
    compensations: tuple[tuple[Compensation, str], ...]
    faults: tuple[Fault, ...]
    not_used: tuple[str, ...]
    stops: tuple[Stop, ...]
    cautions: tuple[str, ...]
    minutes_spent: float
    catalogue_version: str
    models: tuple[str, ...]
    forecast: LineForecast | None = None
