"""The seconds that a gymnast held a shape, taken with a watch."""

import math

from chordline.application.club.judge_screen import JudgeScreen
from chordline.application.club.ports import Records
from chordline.application.club.records import HoldRecord
from chordline.catalogue.schema import Catalogue
from chordline.core.capacity.observed import HOLD_MEASURE
from chordline.errors import RefusedInputError


def held_tests(catalogue: Catalogue) -> tuple[str, ...]:
    """Return the tests whose seconds tell something, in the order of the battery."""
    return tuple(test for test in catalogue.tests if HOLD_MEASURE in catalogue.model.get(test, {}))


class KeepHolds:
    """Use case: keep and remove holds; their screen is judged again."""

    def __init__(self, records: Records, judge: JudgeScreen, catalogue: Catalogue) -> None:
        self._records = records
        self._judge = judge
        self._catalogue = catalogue

    def add(
        self,
        screen_id: int,
        *,
        test: str,
        seconds: float,
        reached_cap: bool,
        author: str,
        token: str | None = None,
    ) -> HoldRecord | None:
        """Keep a hold.

        Parameters
        ----------
        screen_id : int
        test : str
        seconds : float
        reached_cap : bool
            She was stopped in shape; she did not break.
        author : str
        token : str, optional
            Of the form; None is returned where it was sent before.
        """
        known = held_tests(self._catalogue)
        if test not in known:
            titles = ", ".join(self._catalogue.tests[one].title for one in known)
            raise RefusedInputError(f"seconds are taken of {titles}; choose one of these")
        if not (math.isfinite(seconds) and seconds > 0.0):
            raise RefusedInputError("say for how many seconds she held it, more than 0")
        with self._records.transaction() as tx:
            tx.screens.get(screen_id)
            if token is not None and not tx.first_time(token):
                return None
            hold = tx.screens.add_hold(
                screen_id, test=test, seconds=seconds, reached_cap=reached_cap, author=author
            )
        self._judge(screen_id)
        return hold

    def remove(self, hold_id: int) -> int:
        """Remove a hold that was entered by mistake; return the id of its screen."""
        with self._records.transaction() as tx:
            screen_id = tx.screens.remove_hold(hold_id)
        self._judge(screen_id)
        return screen_id
