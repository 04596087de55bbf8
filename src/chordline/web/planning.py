"""The planner of a running server: makes plans one by one, tells how far it is, can be stopped."""

import logging
import threading
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Literal

from chordline.application.training.make_plan import MakePlan, PlanWish
from chordline.errors import ChordlineError, RefusedInputError

_log = logging.getLogger(__name__)

Stage = Literal["waits", "runs", "done", "stopped", "refused"]
#: What is told where the program itself failed.
_FAILED = (
    "chordline failed on this plan; nothing was changed. Try again, and report it if it stays."
)


@dataclass(frozen=True)
class PlanningState:
    """How far a group's plan is.

    Attributes
    ----------
    stage : {'waits', 'runs', 'done', 'stopped', 'refused'}
    share : float
        Of the work, 0 to 1.
    told : tuple of str
        Why it was refused, a sentence each.
    """

    stage: Stage
    share: float = 0.0
    told: tuple[str, ...] = ()

    @property
    def busy(self) -> bool:
        """Whether a plan is still to come."""
        return self.stage in {"waits", "runs"}


class Planning:
    """Makes plans in a thread of its own.

    Nothing of a plan is kept before it is whole: stopped or killed, the plan before it holds.
    """

    def __init__(self, make: Callable[[], MakePlan]) -> None:
        self._make = make
        self._lock = threading.Lock()
        self._one_at_a_time = threading.Lock()
        self._states: dict[int, PlanningState] = {}
        self._stops: dict[int, threading.Event] = {}

    def state(self, group_id: int) -> PlanningState | None:
        """Return how far a group's plan is; None where none was asked for since the start."""
        with self._lock:
            return self._states.get(group_id)

    def begin(self, group_id: int, wish: PlanWish) -> None:
        """Begin a plan.

        Raises
        ------
        RefusedInputError
            Where one is being made for the group.
        """
        with self._lock:
            state = self._states.get(group_id)
            if state is not None and state.busy:
                raise RefusedInputError("a plan is being made for this group already")
            self._states[group_id] = PlanningState("waits")
            stop = self._stops[group_id] = threading.Event()
        threading.Thread(
            target=self._run, args=(group_id, wish, stop), name="planning", daemon=True
        ).start()

    def stop(self, group_id: int) -> None:
        """Stop what is being made for a group; no fault where nothing is."""
        with self._lock:
            if group_id in self._stops:
                self._stops[group_id].set()

    def stop_all(self) -> None:
        """Stop everything: the server ends."""
        with self._lock:
            for stop in self._stops.values():
                stop.set()

    def forget(self, group_id: int) -> None:
        """Forget how the last plan ended, once it was told."""
        with self._lock:
            state = self._states.get(group_id)
            if state is not None and not state.busy:
                del self._states[group_id]

    def _run(self, group_id: int, wish: PlanWish, stop: threading.Event) -> None:
        with self._one_at_a_time:
            self._say(group_id, PlanningState("runs"))
            try:
                made = self._make()(
                    group_id,
                    wish,
                    on_progress=lambda share: self._advance(group_id, share),
                    cancelled=stop.is_set,
                )
            except ChordlineError as error:
                told = tuple(getattr(error, "sentences", ())) or (str(error),)
                self._say(group_id, PlanningState("refused", told=told))
            except Exception:  # the server must live on
                _log.exception("planning failed")
                self._say(group_id, PlanningState("refused", told=(_FAILED,)))
            else:
                self._say(group_id, PlanningState("stopped" if made is None else "done", 1.0))

    def _say(self, group_id: int, state: PlanningState) -> None:
        with self._lock:
            self._states[group_id] = state

    def _advance(self, group_id: int, share: float) -> None:
        with self._lock:
            state = self._states[group_id]
            self._states[group_id] = replace(state, share=max(state.share, min(share, 1.0)))
