"""What the plans that hold are expected to take off each gymnast's shortfalls."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date

import numpy as np

from chordline.application.club.ports import Tx
from chordline.application.club.records import Group
from chordline.application.training.planned import ReadPlan, read_plan
from chordline.core.estimate import Estimate
from chordline.core.progress.retest import Work


@dataclass
class PlansHolding:
    """The plans that hold on a day; each is read once.

    Attributes
    ----------
    tx : Tx
    day : date
    """

    tx: Tx
    day: date
    _read: dict[int, ReadPlan | None] = field(default_factory=dict)

    def weekly_gains(self, gymnast_id: int, groups: Iterable[Group]) -> dict[str, Estimate]:
        """Return what her plan takes off each shortfall a week [capacity's unit / week].

        Of several groups the first whose plan has her.
        """
        for group in groups:
            plan = self._of(group.id)
            hers = None if plan is None else plan.hers.get(gymnast_id)
            if plan is not None and hers is not None:
                return {
                    one.capacity: Estimate(one.gain.value / plan.weeks, one.gain.sd / plan.weeks)
                    for one in hers.work
                }
        return {}

    def _of(self, group_id: int) -> ReadPlan | None:
        if group_id not in self._read:
            made = self.tx.training.plan_holding(group_id, self.day)
            plan = None if made is None else read_plan(made.record)
            self._read[group_id] = plan if plan is not None and plan.last_day >= self.day else None
        return self._read[group_id]


def work_of(gains: dict[str, Estimate], names: Iterable[str]) -> Work:
    """Return weekly gains in the order of the model."""
    none = Estimate(0.0, 0.0)
    hers = [gains.get(name, none) for name in names]
    return Work(np.array([one.value for one in hers]), np.array([one.sd for one in hers]))
