"""Planning again: what was pinned, excluded and said of absences stays until it is changed."""

from datetime import date

from chordline.application.club.ports import Records
from chordline.application.training.members import find_group
from chordline.application.training.plan_wish import PlanWish, wish_from_json
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
    """Use case: tell what planning again begins with: pins, exclusions and absences that stand."""

    def __init__(self, records: Records, training: TrainingCatalogue) -> None:
        self._records = records
        self._training = training

    def wish(self, group_id: int, *, first_day: date, author: str, today: date) -> PlanWish:
        """Return what the group's latest plan was asked for with, from a day on.

        Raises
        ------
        NotThereError
            Where there is no such group.
        """
        with self._records.reading() as tx:
            find_group(tx, group_id)
            kept = next(iter(tx.training.plans(group_id, limit=1)), None)
        return standing_wish(
            kept, first_day=first_day, author=author, today=today, training=self._training
        )
