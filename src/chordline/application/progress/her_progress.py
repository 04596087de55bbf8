"""A gymnast's progress from the records."""

import threading
from collections import OrderedDict
from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Protocol, TypeVar

from chordline.application.club.ports import Records, Tx
from chordline.application.club.views import GymnastView
from chordline.application.progress.judge_her import judge_her
from chordline.application.progress.numbers import ProgressNumbers
from chordline.application.progress.plans import PlansHolding
from chordline.application.progress.timelines import (
    HerTimeline,
    ReadTimelines,
    exercises_of,
)
from chordline.application.progress.told import Progress
from chordline.application.training.members import open_signs
from chordline.application.training.signs import tests_stopped_by
from chordline.catalogue.training_schema import TrainingCatalogue
from chordline.core.estimate import Estimate

#: Gymnasts whose judged progress is kept, about 100 kB each after ten years.
_KEPT = 500


@dataclass(frozen=True)
class HerRead:
    """All that progress rests on, of one gymnast.

    Attributes
    ----------
    view : GymnastView
    hers : HerTimeline
    blocked : tuple of str
        Tests that a reported sign stops.
    gains : dict of capacity to Estimate
        What her plan takes off each shortfall a week.
    """

    view: GymnastView
    hers: HerTimeline
    blocked: tuple[str, ...]
    gains: dict[str, Estimate]

    def key(self, day: date) -> Hashable:
        """Return what her progress up to a day depends on."""
        hers = self.hers
        return (
            hers.gymnast,
            day,
            tuple((one.screen.id, one.screen.revision) for one in hers.screens),
            hers.empty,
            hers.work,
            hers.growth_now,
            self.blocked,
            tuple(sorted(self.gains.items(), key=lambda item: item[0])),
        )


class _Hers(Protocol):
    @property
    def gymnast_id(self) -> int: ...


_HersT = TypeVar("_HersT", bound=_Hers)


def _by_gymnast(records: Iterable[_HersT]) -> Mapping[int, Sequence[_HersT]]:
    found: dict[int, list[_HersT]] = {}
    for one in records:
        found.setdefault(one.gymnast_id, []).append(one)
    return found


class HerProgress:
    """Use case: tell a gymnast's progress.

    What was judged is kept until a screen, her record, work, a size, a sign, her plan or the day
    changes.
    """

    def __init__(
        self,
        records: Records,
        read: ReadTimelines,
        numbers: ProgressNumbers,
        training: TrainingCatalogue,
    ) -> None:
        self._records = records
        self._read = read
        self.numbers = numbers
        self.exercises = exercises_of(training)
        self._kept: OrderedDict[Hashable, Progress] = OrderedDict()
        self._lock = threading.Lock()

    def __call__(self, gymnast_id: int, *, today: date) -> Progress:
        """Return a gymnast's progress up to a day."""
        with self._records.reading() as tx:
            read = self.read(tx, [gymnast_id], today=today)[0]
        return self.of(read, day=today)

    def read(self, tx: Tx, gymnast_ids: Sequence[int], *, today: date) -> tuple[HerRead, ...]:
        """Return what the progress of gymnasts rests on, one each."""
        catalogue, plans = self.numbers.catalogue, PlansHolding(tx, today)
        screens = _by_gymnast(tx.screens.of_gymnasts(gymnast_ids))
        work = _by_gymnast(tx.training.work(gymnast_ids, last=today))
        read = []
        for one in gymnast_ids:
            view = tx.gymnasts.view(one, screens=0)
            hers = self._read(tx, view, screens.get(one, ()), work.get(one, ()), today=today)
            blocked = tests_stopped_by(open_signs(view.notes, catalogue), catalogue)
            read.append(HerRead(view, hers, blocked, plans.weekly_gains(one, view.groups)))
        return tuple(read)

    def of(self, read: HerRead, *, day: date) -> Progress:
        """Return the progress of a gymnast who was read."""
        hers = read.hers
        key = read.key(day)
        with self._lock:
            if key in self._kept:
                self._kept.move_to_end(key)
                return self._kept[key]
        progress = judge_her(
            hers, self.numbers, self.exercises, blocked=read.blocked, gains=read.gains, day=day
        )
        with self._lock:
            self._kept[key] = progress
            if len(self._kept) > _KEPT:
                self._kept.popitem(last=False)
        return progress
