"""Planning again: what was pinned, excluded and said of absences stays until it is changed."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import date

from chordline.application.club.ports import Records
from chordline.application.training.make_plan import MakePlan
from chordline.application.training.plan_wish import PlanWish, WishedTurn, wish_from_json
from chordline.application.training.records import PlanRecord
from chordline.catalogue.training_schema import TrainingCatalogue


def standing_wish(
    kept: PlanRecord | None,
    *,
    first_day: date,
    author: str,
    today: date,
    training: TrainingCatalogue,
) -> PlanWish:
    """Return what is wished from a day on: what the kept plan was asked for with, or nothing."""
    if kept is None:
        weeks = int(training.setting("weeks"))
        return PlanWish(first_day=first_day, weeks=weeks, author=author, today=today)
    return wish_from_json(kept.record["asked"], first_day=first_day, author=author, today=today)


class Replan:
    """Use case: plan again from a day on, with what has been done and found since."""

    def __init__(self, records: Records, make: MakePlan, training: TrainingCatalogue) -> None:
        self._records = records
        self._make = make
        self._training = training

    def wish(self, group_id: int, *, first_day: date, author: str, today: date) -> PlanWish:
        """Return what the group's latest plan was asked for with, from a day on."""
        with self._records.reading() as tx:
            kept = next(iter(tx.training.plans(group_id, limit=1)), None)
        return standing_wish(
            kept, first_day=first_day, author=author, today=today, training=self._training
        )

    def __call__(
        self,
        group_id: int,
        *,
        author: str,
        today: date,
        first_day: date | None = None,
        weeks: int | None = None,
        pins: tuple[WishedTurn, ...] = (),
        exclusions: tuple[WishedTurn, ...] = (),
        absences: Mapping[date, frozenset[int]] | None = None,
        on_progress: Callable[[float], None] | None = None,
        cancelled: Callable[[], bool] | None = None,
    ) -> PlanRecord | None:
        """Make a plan with what stood and what is added; return None where it was cancelled.

        Parameters
        ----------
        group_id : int
        author : str
        today : date
        first_day : date, optional
            Today if unset.
        weeks : int, optional
            As before if unset.
        pins, exclusions : tuple of WishedTurn
            Added to those that stand.
        absences : mapping of date to gymnasts, optional
            Likewise.
        on_progress, cancelled : callable, optional
            As in `MakePlan`.
        """
        stood = self.wish(group_id, first_day=first_day or today, author=author, today=today)
        away = dict(stood.absences)
        for day, ids in (absences or {}).items():
            away[day] = away.get(day, frozenset()) | ids
        wish = replace(
            stood,
            weeks=stood.weeks if weeks is None else weeks,
            pins=tuple(dict.fromkeys((*stood.pins, *pins))),
            exclusions=tuple(dict.fromkeys((*stood.exclusions, *exclusions))),
            absences=away,
        )
        return self._make(group_id, wish, on_progress=on_progress, cancelled=cancelled)
