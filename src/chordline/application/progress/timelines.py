"""A gymnast's screens from the records as one timeline: measured, trained, grown."""

import threading
from collections import OrderedDict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise

import numpy as np

from chordline.application.club.her_screen import her_screen
from chordline.application.club.ports import Tx
from chordline.application.club.records import BodySize, GymnastRecord, PhotoRecord, ScreenRecord
from chordline.application.club.views import GymnastView, ScreenView
from chordline.application.find_limits import FindLimits, ScreenInput
from chordline.application.observations import is_by_hand
from chordline.application.ports import Photo
from chordline.application.progress.numbers import ProgressNumbers
from chordline.application.training.records import WorkRecord
from chordline.catalogue.training_schema import TrainingCatalogue
from chordline.core.body.measurement import Measurement
from chordline.core.estimate import Estimate
from chordline.core.planning.drift import drift_of_work
from chordline.core.planning.problem import Exercise
from chordline.core.progress.timeline import ScreenAt, Step, Timeline

#: Gathered screens that are kept, about 6 kB each.
_KEPT = 10_000
#: So many screens are read one by one; more at once.
_FEW = 2
_ALL = 1000
_STATURES_FOR_A_SPEED = 2

#: Chance that she grows fast on a day, from her sizes until then; None where nobody can say.
GrowthChance = Callable[[GymnastRecord, Sequence[BodySize], date], float | None]
Renew = Callable[[Measurement], Measurement]


@dataclass(frozen=True)
class Counted:
    """A screen of which something counts.

    Attributes
    ----------
    screen : ScreenRecord
    at : ScreenAt
        `at.day` is the proleptic ordinal of its day.
    by_hand : bool
        Whether a hand set all of its landmarks.
    """

    screen: ScreenRecord
    at: ScreenAt
    by_hand: bool

    @property
    def day(self) -> date:
        """The day of the screen."""
        return self.screen.screened_on

    @property
    def pairs(self) -> tuple[tuple[str, str], ...]:
        """Test and measure of everything that counts."""
        return (*self.at.measured, *self.at.bounded)

    @property
    def tests(self) -> tuple[str, ...]:
        """Tests that count, each once."""
        return tuple(dict.fromkeys(test for test, _ in self.pairs))


@dataclass(frozen=True)
class HerTimeline:
    """A gymnast's screens through time.

    Attributes
    ----------
    gymnast : GymnastRecord
    screens : tuple of Counted
        The oldest first.
    empty : int
        Screens of which nothing counts (yet); they are not among `screens`.
    timeline : Timeline or None
        None where no screen counts.
    work : tuple of WorkRecord
        All that she did, the first day first.
    growth_now : float, at least 1
        By how much growth multiplies the wander today.
    """

    gymnast: GymnastRecord
    screens: tuple[Counted, ...]
    empty: int
    timeline: Timeline | None
    work: tuple[WorkRecord, ...]
    growth_now: float


class ReadTimelines:
    """Reads timelines; what a screen told is kept until the screen changes."""

    def __init__(
        self,
        find: FindLimits,
        numbers: ProgressNumbers,
        training: TrainingCatalogue,
        *,
        growth_chance: GrowthChance,
        renew: Renew,
    ) -> None:
        """Take the parts.

        Parameters
        ----------
        find, numbers, training
        growth_chance : callable
        renew : callable
            Gives a stored measurement the errors that are in use now.
        """
        self._find = find
        self._renew = renew
        self._numbers = numbers
        self._exercises = exercises_of(training)
        self._growth_chance = growth_chance
        self._kept: OrderedDict[tuple[int, int], Counted | None] = OrderedDict()
        self._lock = threading.Lock()

    def __call__(
        self,
        tx: Tx,
        view: GymnastView,
        screens: Sequence[ScreenRecord],
        work: Sequence[WorkRecord],
        *,
        today: date,
    ) -> HerTimeline:
        """Return a gymnast's timeline up to a day.

        Parameters
        ----------
        tx : Tx
        view : GymnastView
            Its screens are not looked at.
        screens : sequence of ScreenRecord
            All of hers, the first day first.
        work : sequence of WorkRecord
            All of hers, the first day first.
        today : date
            Later screens are not looked at.
        """
        her = view.gymnast
        read = self._counted(tx, [one for one in screens if one.screened_on <= today], her)
        counted = tuple(one for one in read if one is not None)
        days = [one.day for one in counted]
        steps = tuple(
            self._step(work, earlier=earlier, later=later, growth=self._factor(view, later))
            for earlier, later in pairwise(days)
        )
        ats = tuple(one.at for one in counted)
        return HerTimeline(
            gymnast=her,
            screens=counted,
            empty=len(read) - len(counted),
            timeline=Timeline(ats, steps) if ats else None,
            work=tuple(work),
            growth_now=self._factor(view, today),
        )

    def _counted(
        self, tx: Tx, screens: Sequence[ScreenRecord], her: GymnastRecord
    ) -> list[Counted | None]:
        """Return what each screen told; None where nothing counts."""
        with self._lock:
            read = {
                key: self._kept[key]
                for one in screens
                if (key := (one.id, one.revision)) in self._kept
            }
        for view in self._views(tx, [one for one in screens if (one.id, one.revision) not in read]):
            read[view.screen.id, view.screen.revision] = self._gather(view, her)
        with self._lock:
            for key, counted in read.items():
                self._kept[key] = counted
                self._kept.move_to_end(key)
            while len(self._kept) > _KEPT:
                self._kept.popitem(last=False)
        return [read[one.id, one.revision] for one in screens]

    @staticmethod
    def _views(tx: Tx, screens: Sequence[ScreenRecord]) -> Sequence[ScreenView]:
        if len(screens) <= _FEW:
            return [tx.screens.view(one.id) for one in screens]
        wanted = {one.id for one in screens}
        view = tx.gymnasts.view(screens[0].gymnast_id, screens=_ALL)
        return [one for one in view.screens if one.screen.id in wanted]

    def _gather(self, view: ScreenView, her: GymnastRecord) -> Counted | None:
        catalogue, day = self._numbers.catalogue, view.screen.screened_on
        hers = her_screen(her, view, sizes=(), notes=(), catalogue=catalogue, read=_no_picture)
        measurements = tuple(self._renew(one.measurement) for one in hers.screen.filed)
        held = hers.screen.held
        shown = ScreenInput(her.name, her.card, day.isoformat(), measurements, held)
        gathered = self._find.gather(shown)
        if not gathered.labels:
            return None
        used = [one for one in measurements if one.trust.accepted]
        by_hand = bool(used) and is_by_hand(used)
        marker = self._numbers.by_hand if by_hand else self._numbers.by_networks
        return Counted(view.screen, ScreenAt(day.toordinal(), gathered, marker), by_hand)

    def _factor(self, view: GymnastView, day: date) -> float:
        until = [one for one in view.sizes if one.taken_on <= day and one.stature_cm is not None]
        if len(until) < _STATURES_FOR_A_SPEED:
            return 1.0
        return self._numbers.growth_factor(self._growth_chance(view.gymnast, view.sizes, day))

    def _step(
        self, work: Sequence[WorkRecord], *, earlier: date, later: date, growth: float
    ) -> Step:
        drift = drift_of_work(
            self._exercises, weeks_of(work_between(work, earlier=earlier, later=later))
        )
        names = self._numbers.model.names
        none = Estimate(0.0, 0.0)
        return Step(
            np.array([drift.get(name, none).value for name in names]),
            np.array([drift.get(name, none).sd ** 2 for name in names]),
            growth,
        )


def _no_picture(photo: PhotoRecord) -> Photo:
    raise AssertionError(f"progress looks at no picture, not at that of {photo.name}")


def work_between(
    work: Sequence[WorkRecord], *, earlier: date, later: date | None
) -> tuple[WorkRecord, ...]:
    """Return what was done after one day and before another (None: up to now).

    Work of the day of a screen came before it or after it: nobody knows, so it does not count.
    """
    return tuple(
        one for one in work if earlier < one.held_on and (later is None or one.held_on < later)
    )


def weeks_of(work: Sequence[WorkRecord]) -> tuple[Mapping[str, float], ...]:
    """Return minutes by exercise [min], one mapping a calendar week."""
    weeks: dict[date, dict[str, float]] = {}
    for one in work:
        week = weeks.setdefault(one.held_on - timedelta(days=one.held_on.weekday()), {})
        week[one.exercise] = week.get(one.exercise, 0.0) + one.share * one.minutes
    return tuple(weeks[monday] for monday in sorted(weeks))


def exercises_of(training: TrainingCatalogue) -> dict[str, Exercise]:
    """Return what the law of doses needs of each exercise."""
    return {
        name: Exercise(
            id=name,
            kind=entry.kind,
            minutes=entry.minutes,
            group=entry.group,
            hard=entry.hard,
            feeds={capacity: Estimate(fed.gain, fed.sd) for capacity, fed in entry.feeds.items()},
            weekly_dose_min=entry.weekly_dose_min,
        )
        for name, entry in training.exercises.items()
    }
