"""What a plan is made from: exercises, sessions with their stations, gymnasts with their needs.

Everything here is handed in by who knows the catalogue and the records; nothing is looked up.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final, Literal, get_args

from chordline.core.estimate import Estimate

#: What an exercise is for. Inside a session the kinds follow each other in this order: skill and
#: control while she is fresh, long passive stretches last (facts of the trade, no source).
Kind = Literal["skill", "balance", "control", "shape", "strength", "active", "range"]
KINDS: Final[tuple[Kind, ...]] = get_args(Kind)

#: How long she has trained: 1 = new, 2 = some seasons, 3 = advanced.
Level = Literal[1, 2, 3]


@dataclass(frozen=True)
class Exercise:
    """What planning needs of an exercise.

    Attributes
    ----------
    id : str
    kind : Kind
    minutes : float [min]
        Of a turn: all sets with their rests, and getting there.
    group : str
        The muscle group whose weekly minutes it counts for.
    hard : bool
        Not on consecutive days for the same group.
    feeds : mapping of capacity to Estimate
        Shortfall that a weekly dose takes away in one week [capacity's unit / week].
    weekly_dose_min : float [min / week]
        The dose at which `feeds` holds; less gives less in proportion, more gives no more.
    equipment : frozenset of str
        What its station must have.
    spotters : int
        Coaches that a turn binds.
    from_age_y : float [years]
    level : Level
        The least.
    loads : frozenset of str
        What it puts load on; reported signs bar loads.
    needs : mapping of capacity to float
        Largest shortfall, in its unit, with which it may be done; how surely it must be kept is
        said in `may.py`.
    """

    id: str
    kind: Kind
    minutes: float
    group: str
    hard: bool
    feeds: Mapping[str, Estimate]
    weekly_dose_min: float
    equipment: frozenset[str] = frozenset()
    spotters: int = 0
    from_age_y: float = 0.0
    level: Level = 1
    loads: frozenset[str] = frozenset()
    needs: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True)
class Station:
    """A place in the gym.

    Attributes
    ----------
    name : str
    places : int
        How many work there at once.
    equipment : frozenset of str
    """

    name: str
    places: int
    equipment: frozenset[str]


@dataclass(frozen=True)
class Session:
    """One evening of the plan.

    Attributes
    ----------
    day : int
        Days since the first day of the plan; what is on consecutive days is told by it.
    week : int
        0 = the first.
    rounds : int
        Turns at stations that fit between warm-up and end.
    round_min : float [min]
    coaches : int
    absent : frozenset of int
        Gymnasts who are known not to come.
    """

    day: int
    week: int
    rounds: int
    round_min: float
    coaches: int
    absent: frozenset[int] = frozenset()


@dataclass(frozen=True)
class Need:
    """What a capacity asks of the plan.

    Attributes
    ----------
    shortfall : Estimate [capacity's unit]
        Positive = missing.
    payoff : Estimate [% of chord / capacity's unit]
        Bow that one unit less of it takes away.
    """

    shortfall: Estimate
    payoff: Estimate


@dataclass(frozen=True)
class Trainee:
    """A gymnast as planning sees her.

    Attributes
    ----------
    id : int
    age_y : float or None
        None = not known: only what any age may do.
    level : Level
    needs : mapping of capacity to Need
    barred : frozenset of str
        Loads that reported signs bar.
    """

    id: int
    age_y: float | None
    level: Level
    needs: Mapping[str, Need]
    barred: frozenset[str] = frozenset()


@dataclass(frozen=True)
class Pin:
    """What the coach wants: this gymnast does this exercise, in this session or at least weekly.

    `gymnast` None = everybody who may; `session` None = once in every week.
    """

    exercise: str
    gymnast: int | None = None
    session: int | None = None


@dataclass(frozen=True)
class Exclusion:
    """What the coach does not want. `gymnast` None = nobody; `session` None = never."""

    exercise: str
    gymnast: int | None = None
    session: int | None = None


@dataclass(frozen=True)
class Rules:
    """What holds for every plan; each number stands with its source in the catalogue.

    Attributes
    ----------
    least_weekly_min, most_weekly_min : mapping of group to float [min / week]
        Below the least a group's work is told to be too little; beyond the most it gives no more
        and is not planned.
    most_weekly_hard : int
        Hard sessions of one group in a week.
    most_repeats : int
        Rounds of one exercise that one gymnast has in a session.
    block_weeks : int [weeks]
        So many weeks keep their weekly pattern; then needs are counted again.
    doubt_weight : float, 0 to 1
        Share that a payoff loses whose sd is as large as itself, or larger.
    """

    least_weekly_min: Mapping[str, float]
    most_weekly_min: Mapping[str, float]
    most_weekly_hard: int
    most_repeats: int
    block_weeks: int = 4
    doubt_weight: float = 0.0


@dataclass(frozen=True)
class Problem:
    """A squad's problem."""

    trainees: tuple[Trainee, ...]
    exercises: tuple[Exercise, ...]
    stations: tuple[Station, ...]
    sessions: tuple[Session, ...]
    rules: Rules
    pins: tuple[Pin, ...] = ()
    exclusions: tuple[Exclusion, ...] = ()


@dataclass(frozen=True)
class Turn:
    """Who does what, where, in a round: one exercise at one station.

    Attributes
    ----------
    session, round, station : int
        Indices.
    exercise : str
    gymnasts : tuple of int
        Ids, at least one.
    """

    session: int
    round: int
    station: int
    exercise: str
    gymnasts: tuple[int, ...]


@dataclass(frozen=True)
class Plan:
    """A solved plan.

    Attributes
    ----------
    turns : tuple of Turn
        In the order of session, round, station.
    straightening_pct : float [% of chord]
        The objective: bow expected to be taken away, summed over the squad, doubtful payoffs
        counted less.
    bound_pct : float [% of chord]
        No plan does better, with or without blocks.
    cut_short : bool
        Whether time ran out before the work that is always done was done.
    """

    turns: tuple[Turn, ...]
    straightening_pct: float
    bound_pct: float
    cut_short: bool = False

    @property
    def gap(self) -> float:
        """How far the plan may be from the best, as a share of the bound."""
        if self.bound_pct <= 0.0:
            return 0.0
        return max(0.0, 1.0 - self.straightening_pct / self.bound_pct)
