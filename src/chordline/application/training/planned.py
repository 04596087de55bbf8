"""A stored plan, `chordline.plan/1`, as the sheets read it."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, time, timedelta
from typing import Any

from chordline.application.club.records import Json
from chordline.application.training.records import PlanRecord
from chordline.core.estimate import Estimate


@dataclass(frozen=True)
class PlannedWork:
    """What a plan does about one capacity of one gymnast.

    Attributes
    ----------
    capacity : str
    weekly_min : float [min / week]
    shortfall : Estimate [capacity's unit]
        Positive = missing.
    payoff : Estimate [% of chord / capacity's unit]
    gain : Estimate [capacity's unit]
        Shortfall that the whole plan is expected to take away.
    """

    capacity: str
    weekly_min: float
    shortfall: Estimate
    payoff: Estimate
    gain: Estimate


@dataclass(frozen=True)
class HerPlan:
    """One gymnast's part of a plan.

    Attributes
    ----------
    gymnast : int
    signs, barred : tuple of str
        Flags, and the loads that they bar.
    never_screened : bool
    work : tuple of PlannedWork
        The most minutes first.
    home : tuple of str
        Exercises.
    too_little : tuple of str
        Muscle groups that get less than their least weekly minutes.
    """

    gymnast: int
    signs: tuple[str, ...]
    barred: tuple[str, ...]
    never_screened: bool
    work: tuple[PlannedWork, ...]
    home: tuple[str, ...]
    too_little: tuple[str, ...]


@dataclass(frozen=True)
class PlannedTurn:
    """Who does what at a station in a round; `station` is its place in the evening's list."""

    station: int
    exercise: str
    gymnasts: tuple[int, ...]


@dataclass(frozen=True)
class Evening:
    """One session.

    Attributes
    ----------
    held_on : date
    week : int
        0 = the first.
    starts_at : time or None
    warm_up_min, round_min : float [min]
    coaches : int
    rounds : tuple of tuple of PlannedTurn
    resting : tuple of tuple of int
        Who rests, round by round.
    absent : tuple of int
    """

    held_on: date
    week: int
    starts_at: time | None
    warm_up_min: float
    round_min: float
    coaches: int
    rounds: tuple[tuple[PlannedTurn, ...], ...]
    resting: tuple[tuple[int, ...], ...]
    absent: tuple[int, ...]

    @property
    def gymnasts(self) -> tuple[int, ...]:
        """Everybody who is named in it, each once, in the order in which they appear."""
        named = [her for turns in self.rounds for turn in turns for her in turn.gymnasts]
        waiting = [her for round_ in self.resting for her in round_]
        return tuple(dict.fromkeys((*named, *waiting, *self.absent)))


@dataclass(frozen=True)
class PlannedStation:
    """A place in the gym."""

    name: str
    equipment: tuple[str, ...]


@dataclass(frozen=True)
class ReadPlan:
    """A whole plan.

    Attributes
    ----------
    first_day : date
    weeks : int
    straightening_pct, bound_pct : float [% of chord]
        What it was chosen by: bow taken away, summed over the group, doubtful payoffs counted less;
        no plan has more.
    expected : Estimate or None [% of chord]
        Bow (its rms along the line) that it is expected to take away, summed over the group; None
        in plans that do not say it.
    stations : tuple of PlannedStation
    evenings : tuple of Evening
    hers : mapping of gymnast to HerPlan
    """

    first_day: date
    weeks: int
    straightening_pct: float
    bound_pct: float
    expected: Estimate | None
    stations: tuple[PlannedStation, ...]
    evenings: tuple[Evening, ...]
    hers: Mapping[int, HerPlan]

    @property
    def gap(self) -> float:
        """How far it may be below the best plan, as a share."""
        if self.bound_pct <= 0.0:
            return 0.0
        return max(0.0, 1.0 - self.straightening_pct / self.bound_pct)

    @property
    def last_day(self) -> date:
        """The last day that it plans."""
        return self.first_day + timedelta(days=7 * self.weeks - 1)

    @property
    def calendar_weeks(self) -> int:
        """How many weeks, Monday first, hold its days: one more where it begins within a week."""
        return self.week_of(self.last_day) + 1

    def week_of(self, day: date) -> int:
        """Return the week of a day as `Evening.week` counts: 0 = the one of the first day."""
        monday = self.first_day - timedelta(days=self.first_day.weekday())
        return (day - monday).days // 7


def read_plan(record: Json) -> ReadPlan:
    """Return a stored plan.

    Parameters
    ----------
    record : mapping
        `chordline.plan/1`.
    """
    expected = record["objective"].get("expected_pct")
    return ReadPlan(
        first_day=date.fromisoformat(record["first_day"]),
        weeks=int(record["weeks"]),
        straightening_pct=float(record["objective"]["straightening_pct"]),
        bound_pct=float(record["objective"]["bound_pct"]),
        expected=None if expected is None else Estimate(expected["mean"], expected["sd"]),
        stations=read_stations(record),
        evenings=tuple(read_evening(one) for one in record["sessions"]),
        hers={int(one["gymnast"]): _hers(one) for one in record["gymnasts"]},
    )


def sessions_that_hold(plans: Sequence[PlanRecord]) -> tuple[Evening, ...]:
    """Return the planned sessions of a group, each from the plan that holds on its day.

    Parameters
    ----------
    plans : sequence of PlanRecord
        The latest made first: from its first day on, a plan takes the place of those before it.
    """
    held: list[Evening] = []
    until = date.max
    for plan in plans:
        evenings = map(read_evening, plan.record["sessions"])
        held += [one for one in evenings if one.held_on < until]
        until = min(until, plan.first_day)
    return tuple(sorted(held, key=lambda one: one.held_on))


def read_stations(record: Json) -> tuple[PlannedStation, ...]:
    """Return the stations of a plan."""
    return tuple(
        PlannedStation(str(one["name"]), tuple(one.get("equipment", ())))
        for one in record["stations"]
    )


def read_evening(record: Json) -> Evening:
    """Return one element of a plan's sessions, or a stored evening."""
    starts_at = record.get("starts_at")
    return Evening(
        held_on=date.fromisoformat(record["date"]),
        week=int(record["week"]),
        starts_at=None if starts_at is None else time.fromisoformat(starts_at),
        warm_up_min=float(record["warm_up_min"]),
        round_min=float(record["round_min"]),
        coaches=int(record["coaches"]),
        rounds=tuple(
            tuple(
                PlannedTurn(int(turn["station"]), turn["exercise"], _ids(turn["gymnasts"]))
                for turn in turns
            )
            for turns in record["rounds"]
        ),
        resting=tuple(map(_ids, record.get("resting", ()))),
        absent=_ids(record.get("absent", ())),
    )


def _hers(record: Mapping[str, Any]) -> HerPlan:
    work = (
        PlannedWork(
            capacity=one["capacity"],
            weekly_min=float(one["weekly_min"]),
            shortfall=Estimate(one["shortfall"]["mean"], one["shortfall"]["sd"]),
            payoff=Estimate(one["payoff"]["value"], one["payoff"]["sd"]),
            gain=Estimate(one["gain"]["mean"], one["gain"]["sd"]),
        )
        for one in record["work"]
    )
    return HerPlan(
        gymnast=int(record["gymnast"]),
        signs=tuple(record.get("signs", ())),
        barred=tuple(record.get("barred", ())),
        never_screened=bool(record.get("never_screened", False)),
        work=tuple(sorted(work, key=lambda one: -one.weekly_min)),
        home=tuple(record.get("home", ())),
        too_little=tuple(record.get("too_little", ())),
    )


def _ids(said: Iterable[Any]) -> tuple[int, ...]:
    return tuple(int(one) for one in said)
