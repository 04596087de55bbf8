"""Many photos at once: any `Executor` measures them, and a lost worker costs only time."""

from collections import deque
from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import FIRST_COMPLETED, BrokenExecutor, CancelledError, Executor, Future
from concurrent.futures import wait as wait_for
from contextlib import AbstractContextManager
from dataclasses import dataclass
from typing import Protocol

from chordline.application.measure_photo import MeasureRequest
from chordline.core.body.measurement import Measurement
from chordline.errors import RefusedInputError, WorkersError

#: After so long without any result it is asked whether anybody still works [s].
_PATIENCE_S = 30.0
#: A photo that ended so many workers while it was measured alone is given up.
_LAST_ATTEMPT = 2
#: So many losses without one photo between them are not the photos' fault.
_MOST_BREAKS = 6

GAVE_UP = (
    "the program ended twice while it measured this photo; set the marks by hand, and report it"
)


@dataclass(frozen=True)
class PhotoTask:
    """One photo to be measured anywhere: its name, its file's bytes, and what was asked."""

    name: str
    content: bytes
    request: MeasureRequest


@dataclass(frozen=True)
class Outcome:
    """What became of one photo.

    Attributes
    ----------
    measurement : Measurement or None
    refusal : str
        Why there is none.
    unfit : str
        What is wrong with the worker; then the photo was not looked at.
    """

    measurement: Measurement | None = None
    refusal: str = ""
    unfit: str = ""


class Workers(Protocol):
    """Opens executors whose workers can measure."""

    @property
    def at_once(self) -> int:
        """How many photos to hand out at once: enough that nobody waits, few enough to hold."""
        ...

    @property
    def lost_again(self) -> tuple[type[Exception], ...]:
        """What a photo's future raises when it was tried on several workers and all were lost."""
        ...

    def open(self) -> AbstractContextManager[Executor]:
        """Start or reach workers; raise `WorkersError` where there are none."""
        ...

    def any_left(self) -> bool:
        """Return whether anybody works while an executor is open."""
        ...


class MeasureMany:
    """Use case: measure photos on workers; results do not depend on which worker did what.

    Parameters
    ----------
    workers : Workers
    measure : callable
        A pure function that can be sent to the workers.
    """

    def __init__(self, workers: Workers, measure: Callable[[PhotoTask], Outcome]) -> None:
        self._workers = workers
        self._measure = measure

    def __call__(
        self,
        tasks: Sequence[Callable[[], PhotoTask]],
        *,
        keep: Callable[[int, Outcome], None],
    ) -> tuple[Outcome, ...]:
        """Return every outcome in the order of the tasks.

        Parameters
        ----------
        tasks : sequence of callables
            Each reads its photo when its turn comes; `RefusedInputError` refuses that photo.
        keep : callable
            Told each task's index and outcome as soon as it is there, from this thread; what it
            raises ends the work, and nothing more is handed out.

        Raises
        ------
        WorkersError
            Where workers cannot be reached, are all gone, or are not what they should be.
        """
        work = _Work(tasks, keep)
        while work.is_left:
            with self._workers.open() as executor:
                try:
                    self._work_off(work, executor)
                except BrokenExecutor:
                    work.take_back()
                except BaseException:
                    work.cancel()
                    raise
        return work.outcomes

    def _work_off(self, work: "_Work", executor: Executor) -> None:
        while work.is_left:
            try:
                work.hand_out(executor, self._measure, at_once=self._workers.at_once)
            except RuntimeError as error:
                if isinstance(error, BrokenExecutor):
                    raise
                raise WorkersError(f"the workers take nothing any more ({error})") from None
            done, _ = wait_for(work.running, timeout=_PATIENCE_S, return_when=FIRST_COMPLETED)
            if not done and work.running and not self._workers.any_left():
                raise WorkersError(
                    "no worker is left; what was measured is kept, start workers and go on"
                )
            work.settle(done, lost_again=self._workers.lost_again)


class _Work:
    """What waits, what runs, what is done."""

    def __init__(
        self, tasks: Sequence[Callable[[], PhotoTask]], keep: Callable[[int, Outcome], None]
    ) -> None:
        self._tasks = tasks
        self._keep = keep
        self._waiting = deque(range(len(tasks)))
        #: Ran when workers were lost: each is tried alone, so that the one to blame is found.
        self._suspects: deque[int] = deque()
        self._ended: dict[int, int] = {}
        self._breaks = 0
        self._outcomes: dict[int, Outcome] = {}
        self.running: dict[Future[Outcome], int] = {}

    @property
    def is_left(self) -> bool:
        return len(self._outcomes) < len(self._tasks)

    @property
    def outcomes(self) -> tuple[Outcome, ...]:
        return tuple(self._outcomes[i] for i in range(len(self._tasks)))

    def hand_out(
        self, executor: Executor, measure: Callable[[PhotoTask], Outcome], *, at_once: int
    ) -> None:
        """Hand out as many photos as may run at once; of suspects one, and nothing beside it."""
        queue, most = (self._suspects, 1) if self._suspects else (self._waiting, at_once)
        if queue is self._suspects and self.running:
            return
        while queue and len(self.running) < most:
            index = queue[0]
            try:
                task = self._tasks[index]()
            except RefusedInputError as error:
                self._finish(index, Outcome(refusal=str(error)))
            else:
                self.running[executor.submit(measure, task)] = index
            queue.popleft()

    def settle(
        self, done: Iterable[Future[Outcome]], *, lost_again: tuple[type[Exception], ...]
    ) -> None:
        """Keep what is done; raise what the workers could not help."""
        broken = None
        for future in sorted(done, key=self.running.__getitem__):
            try:
                outcome = future.result()
            except BrokenExecutor as error:
                broken = error  # it stays among what runs, and is taken back with it
                continue
            except lost_again:
                outcome = Outcome(refusal=GAVE_UP)
            except CancelledError:
                raise WorkersError(
                    "the workers went away; what was measured is kept, the same command goes on "
                    "from here"
                ) from None
            if outcome.unfit:
                raise WorkersError(outcome.unfit)
            self._finish(self.running.pop(future), outcome)
            self._breaks = 0
        if broken is not None:
            raise broken

    def take_back(self) -> None:
        """Put what ran into the queue of suspects; give up what ended workers all by itself."""
        self._breaks += 1
        if self._breaks >= _MOST_BREAKS:
            raise WorkersError(
                "workers end as soon as they begin; measure without them (--workers 1), "
                "and report it"
            )
        ran = sorted(self.running.values())
        self.running.clear()
        for index in ran:
            if len(ran) == 1:
                self._ended[index] = self._ended.get(index, 0) + 1
            if self._ended.get(index, 0) >= _LAST_ATTEMPT:
                self._finish(index, Outcome(refusal=GAVE_UP))
            else:
                self._suspects.append(index)

    def cancel(self) -> None:
        for future in self.running:
            future.cancel()

    def _finish(self, index: int, outcome: Outcome) -> None:
        self._outcomes[index] = outcome
        self._keep(index, outcome)
