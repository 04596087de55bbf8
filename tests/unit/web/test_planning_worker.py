"""Plans are made beside the pages: one at a time, watched, stopped, refused with its reasons."""

import threading
import time
from collections.abc import Callable
from datetime import date
from typing import Any

import pytest

from chordline.application.training.plan_wish import PlanWish
from chordline.errors import RefusedInputError
from chordline.web.planning import Planning, PlanningState

WISH = PlanWish(date(2026, 1, 5), 4, "Coach", date(2026, 1, 5))


class ClashingError(RefusedInputError):
    sentences = ("Ida is pinned.", "The wall is full.")


class Maker:
    """Stands for the solver: waits at a gate, then does what it is told to."""

    def __init__(self, end: Callable[[], Any] = object) -> None:
        self.gate = threading.Event()
        self.began = threading.Semaphore(0)
        self.end = end

    def __call__(
        self,
        group_id: int,
        wish: PlanWish,
        *,
        on_progress: Callable[[float], None],
        cancelled: Callable[[], bool],
    ) -> Any:
        on_progress(0.5)
        on_progress(0.25)
        self.began.release()
        while not self.gate.is_set():
            if cancelled():
                return None
            time.sleep(0.002)
        return self.end()


def settled(planning: Planning, group_id: int) -> PlanningState:
    deadline = time.monotonic() + 10
    while True:
        state = planning.state(group_id)
        if state is not None and not state.busy:
            return state
        assert time.monotonic() < deadline
        time.sleep(0.002)


def begun(maker: Maker, group_id: int = 1) -> Planning:
    planning = Planning(lambda: maker)  # type: ignore[arg-type,return-value]
    planning.begin(group_id, WISH)
    assert maker.began.acquire(timeout=10)
    return planning


def test_nothing_is_told_of_a_group_that_nobody_asked_for() -> None:
    assert Planning(Maker).state(1) is None  # type: ignore[arg-type,return-value]


def test_a_plan_is_watched_and_never_seems_to_go_back() -> None:
    maker = Maker()
    planning = begun(maker)
    assert planning.state(1) == PlanningState("runs", 0.5)
    maker.gate.set()
    assert settled(planning, 1) == PlanningState("done", 1.0)
    planning.forget(1)
    assert planning.state(1) is None


def test_a_second_plan_for_a_group_has_to_wait_for_the_first() -> None:
    maker = Maker()
    planning = begun(maker)
    with pytest.raises(RefusedInputError, match="being made"):
        planning.begin(1, WISH)
    maker.gate.set()
    settled(planning, 1)
    planning.begin(1, WISH)
    settled(planning, 1)


def test_two_groups_are_planned_one_after_the_other() -> None:
    maker = Maker()
    planning = begun(maker, group_id=1)
    planning.begin(2, WISH)
    assert not maker.began.acquire(timeout=0.05)
    state = planning.state(2)
    assert state is not None
    assert state.stage == "waits"
    maker.gate.set()
    assert settled(planning, 2).stage == "done"


def test_a_plan_that_is_stopped_ends_as_such() -> None:
    planning = begun(Maker())
    planning.stop(1)
    assert settled(planning, 1).stage == "stopped"


def test_what_clashes_is_told_sentence_by_sentence() -> None:
    def clash() -> None:
        raise ClashingError("no plan")

    maker = Maker(clash)
    planning = begun(maker)
    maker.gate.set()
    assert settled(planning, 1) == PlanningState("refused", 0.0, ClashingError.sentences)


def test_a_failure_of_the_program_is_told_as_one_and_the_next_plan_goes_on() -> None:
    def fail() -> None:
        raise ZeroDivisionError

    maker = Maker(fail)
    planning = begun(maker)
    maker.gate.set()
    state = settled(planning, 1)
    assert state.stage == "refused"
    assert "chordline failed" in state.told[0]
    maker.end = object
    planning.begin(1, WISH)
    assert settled(planning, 1).stage == "done"


def test_when_the_server_ends_everything_is_stopped() -> None:
    planning = begun(Maker())
    planning.begin(2, WISH)
    planning.stop_all()
    assert settled(planning, 1).stage == "stopped"
    assert settled(planning, 2).stage == "stopped"
