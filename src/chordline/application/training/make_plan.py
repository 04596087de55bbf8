"""A group's plan: what its gymnasts do, when, where, for the coming weeks."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import date
from time import monotonic
from typing import TYPE_CHECKING, Any

from chordline.application.club.ports import Records, Tx
from chordline.application.days import day_in_words
from chordline.application.training.keep_training import check_training
from chordline.application.training.members import find_group, read_members
from chordline.application.training.plan_json import plan_to_json
from chordline.application.training.plan_problem import (
    PlanRequest,
    build_problem,
    training_days,
)
from chordline.application.training.plan_request import on_session, request_for
from chordline.application.training.plan_wish import PlanWish, WishedTurn, wish_to_json
from chordline.application.training.plan_words import ClashWords
from chordline.application.training.records import PlanRecord
from chordline.catalogue.schema import Catalogue
from chordline.catalogue.training_schema import TrainingCatalogue
from chordline.core.planning.clash import ClashError
from chordline.core.planning.problem import Exclusion, Pin
from chordline.errors import RefusedInputError

if TYPE_CHECKING:
    from chordline.core.planning.solve import Progress


__all__ = ["MakePlan", "PlanClashError", "PlanWish", "WishedTurn"]

#: Nobody knows what a child needs half a year from now.
MOST_WEEKS = 26
#: A safety net for a machine that hardly works; the work itself is measured without a clock.
MOST_S = 180.0


class PlanClashError(RefusedInputError):
    """What was asked of a plan cannot be had together; the message names what clashes."""


class MakePlan:
    """Use case: make a plan, and keep it.

    The records are read in one transaction and written in another; nothing waits while the
    solver works, and nothing is kept of a plan that was not finished.
    """

    def __init__(
        self,
        records: Records,
        catalogue: Catalogue,
        training: TrainingCatalogue,
        *,
        clock_s: Callable[[], float] = monotonic,
    ) -> None:
        self._records = records
        self._catalogue = catalogue
        self._training = training
        self._clock_s = clock_s

    def __call__(
        self,
        group_id: int,
        wish: PlanWish,
        *,
        on_progress: Callable[[float], None] | None = None,
        cancelled: Callable[[], bool] | None = None,
    ) -> PlanRecord | None:
        """Make a plan of a group and keep it; return None where it was cancelled.

        Parameters
        ----------
        group_id : int
        wish : PlanWish
            What is wished of gymnasts who left the group, and exclusions on days without a
            session, ask for nothing.
        on_progress : callable, optional
            Is told which share of the work is done, 0 to 1.
        cancelled : callable, optional
            Whether to stop.

        Raises
        ------
        NotThereError
            Where there is no such group.
        RefusedInputError
            With a sentence, where nothing can be planned.
        PlanClashError
            With what clashes.
        """
        with self._records.reading() as tx:
            request = self._request(tx, group_id, wish)
        record = self._solve(request, on_progress=on_progress, cancelled=cancelled)
        if record is None:
            return None
        record["asked"] = wish_to_json(wish)
        with self._records.transaction() as tx:
            if wish.token is not None and not tx.first_time(wish.token):
                return tx.training.plans(group_id, limit=1)[0]
            return tx.training.add_plan(
                group_id, first_day=wish.first_day, record=record, author=wish.author
            )

    def _request(self, tx: Tx, group_id: int, wish: PlanWish) -> PlanRequest:
        """Return what there is to plan with, or say why nothing can be planned."""
        group = find_group(tx, group_id)
        how = tx.training.group(group_id)
        check_training(how, self._training)
        members = read_members(tx, group, today=wish.today, catalogue=self._catalogue)
        if not members:
            raise RefusedInputError(f"{group.name} has no gymnasts yet; put some into it first")
        if not 1 <= wish.weeks <= MOST_WEEKS:
            raise RefusedInputError(f"a plan has 1 to {MOST_WEEKS} weeks, not {wish.weeks}")
        warm_up_min = self._training.setting("warm_up_min")
        round_min = self._training.setting("round_min")
        if how.minutes < warm_up_min + round_min:
            raise RefusedInputError(
                f"{how.minutes} min leave no time after {warm_up_min:g} min of warm-up for a round "
                f"of {round_min:g} min; give the sessions more time"
            )
        request = request_for(
            group,
            how,
            members,
            first_day=wish.first_day,
            weeks=wish.weeks,
            absences=wish.absences,
        )
        days = training_days(request)
        self._check(wish, days)
        ids = frozenset(one.id for one in members)
        pins = (one for one in wish.pins if one.gymnast is None or one.gymnast in ids)
        exclusions = (
            one
            for one in wish.exclusions
            if (one.gymnast is None or one.gymnast in ids) and (one.day is None or one.day in days)
        )
        return replace(
            request,
            pins=tuple(Pin(one.exercise, one.gymnast, on_session(one, days)) for one in pins),
            exclusions=tuple(
                Exclusion(one.exercise, one.gymnast, on_session(one, days)) for one in exclusions
            ),
        )

    def _check(self, wish: PlanWish, days: Sequence[date]) -> None:
        for one in (*wish.pins, *wish.exclusions):
            if one.exercise not in self._training.exercises:
                raise RefusedInputError(
                    f"no exercise is called '{one.exercise}'; choose one of the catalogue"
                )
        for one in wish.pins:
            if one.day is not None and one.day not in days:
                raise RefusedInputError(
                    f"there is no session on {day_in_words(one.day)}; take the pin off, or choose "
                    "a day on which the group trains"
                )

    def _solve(
        self,
        request: PlanRequest,
        *,
        on_progress: Callable[[float], None] | None,
        cancelled: Callable[[], bool] | None,
    ) -> dict[str, Any] | None:
        """Return the plan as JSON; None where cancelled."""
        # The solver takes half a second to load, which only making a plan should cost.
        from chordline.core.planning.solve import solve  # noqa: PLC0415

        ends_s = self._clock_s() + MOST_S

        def tell(progress: "Progress") -> None:
            if on_progress is not None:
                on_progress(progress.share)

        problem = build_problem(request, self._training, self._catalogue)
        try:
            plan = solve(
                problem,
                on_progress=tell,
                cancelled=cancelled,
                out_of_time=lambda: self._clock_s() > ends_s,
            )
        except ClashError as error:
            told = ClashWords(request, self._training, self._catalogue)(error)
            raise PlanClashError(told) from error
        if plan is None:
            return None
        return plan_to_json(plan, problem, request, self._training, self._catalogue)
