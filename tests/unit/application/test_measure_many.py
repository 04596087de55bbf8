"""Measuring on workers: in order, kept as it comes, and a lost worker costs only time."""

from collections.abc import Callable, Iterator
from concurrent.futures import CancelledError, Executor, Future
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path

import pytest

from application_doubles import PRONE, DictCache, FakeCards, FakePoses, FakeReader, body_of
from chordline.application.folder import FolderContents, Gymnast
from chordline.application.measure_many import GAVE_UP, MeasureMany, Outcome, PhotoTask
from chordline.application.measure_photo import MeasurePhoto, MeasureRequest
from chordline.application.screen_folder import ScreenFolder
from chordline.bootstrap import worth_workers
from chordline.catalogue.loader import load_catalogue
from chordline.errors import PictureError, RefusedInputError, WorkersError

NAMES = [f"{number}.jpg" for number in range(7)]


class KilledError(Exception):
    """What a cluster says of a photo that was tried on several workers, all lost."""


class LastFirst(Executor):
    """Does everything at once, the last first; each `deadly` photo ends it so many times."""

    def __init__(self, deadly: dict[str, int]) -> None:
        self.deadly = deadly
        self.broken = False
        self.asked: list[str] = []
        self.shut = False

    def submit(self, fn, /, *args, **kwargs) -> Future:  # type: ignore[no-untyped-def, override]
        task: PhotoTask = args[0]
        future: Future[Outcome] = Future()
        if self.broken:
            raise BrokenProcessPool
        self.asked.append(task.name)
        if self.deadly.get(task.name, 0):
            self.deadly[task.name] -= 1
            self.broken = True
            future.set_exception(BrokenProcessPool())
        else:
            try:
                future.set_result(fn(task))
            except Exception as error:
                future.set_exception(error)
        return future

    def shutdown(self, wait: bool = True, *, cancel_futures: bool = False) -> None:
        self.shut = True


@dataclass
class FakeWorkers:
    """Opens a new executor each time."""

    at_once: int = 3
    deadly: dict[str, int] = field(default_factory=dict)
    lost_again: tuple[type[Exception], ...] = (KilledError,)
    opened: list[LastFirst] = field(default_factory=list)

    @contextmanager
    def open(self) -> Iterator[Executor]:
        self.opened.append(LastFirst(self.deadly))
        with self.opened[-1] as executor:
            yield executor

    def any_left(self) -> bool:
        return False

    @property
    def asked(self) -> list[str]:
        return [name for executor in self.opened for name in executor.asked]


def answer(task: PhotoTask) -> Outcome:
    return Outcome(refusal=f"seen {task.name}")


def task_of(name: str) -> PhotoTask:
    return PhotoTask(name, b"", MeasureRequest("prone-sides"))


def run(
    workers: FakeWorkers,
    measure: Callable[[PhotoTask], Outcome] = answer,
    keep: Callable[[int, Outcome], None] = lambda index, outcome: None,
) -> list[str]:
    tasks = [partial(task_of, name) for name in NAMES]
    return [one.refusal for one in MeasureMany(workers, measure)(tasks, keep=keep)]


SEEN = [f"seen {name}" for name in NAMES]


def test_outcomes_stand_in_the_order_of_the_photos() -> None:
    kept: dict[int, str] = {}
    workers = FakeWorkers()
    assert run(workers, keep=lambda i, one: kept.update({i: one.refusal})) == SEEN
    assert kept == dict(enumerate(SEEN))
    assert len(workers.opened) == 1


def test_a_lost_worker_costs_only_time() -> None:
    workers = FakeWorkers(deadly={"4.jpg": 1})
    assert run(workers) == SEEN
    # Only what was not done is done again.
    assert {name: workers.asked.count(name) for name in NAMES if name < "3.jpg"} == {
        "0.jpg": 1,
        "1.jpg": 1,
        "2.jpg": 1,
    }
    assert len(workers.opened) == 2


def test_a_photo_that_ends_every_worker_is_refused_and_no_other_is() -> None:
    workers = FakeWorkers(deadly={"4.jpg": 9})
    assert run(workers) == [GAVE_UP if name == "4.jpg" else f"seen {name}" for name in NAMES]


def test_workers_that_never_begin_are_reported() -> None:
    with pytest.raises(WorkersError, match="as soon as they begin"):
        run(FakeWorkers(deadly=dict.fromkeys(NAMES, 9)))


def test_a_photo_whose_workers_a_cluster_lost_again_and_again_is_refused() -> None:
    def killed(task: PhotoTask) -> Outcome:
        if task.name == "2.jpg":
            raise KilledError
        return answer(task)

    assert run(FakeWorkers(), killed)[1:4] == [SEEN[1], GAVE_UP, SEEN[3]]


def test_a_photo_that_cannot_be_read_is_refused_in_its_place() -> None:
    def unreadable() -> PhotoTask:
        raise PictureError("1.jpg", "is empty")

    tasks = [partial(task_of, "0.jpg"), unreadable, partial(task_of, "2.jpg")]
    outcomes = MeasureMany(FakeWorkers(), answer)(tasks, keep=lambda index, outcome: None)
    assert [one.refusal for one in outcomes] == ["seen 0.jpg", "1.jpg: is empty", "seen 2.jpg"]


def test_what_is_stopped_keeps_what_was_done_and_hands_out_nothing_more() -> None:
    kept: list[int] = []

    def keep(index: int, outcome: Outcome) -> None:
        kept.append(index)
        if len(kept) == 2:
            raise KeyboardInterrupt

    workers = FakeWorkers()
    with pytest.raises(KeyboardInterrupt):
        run(workers, keep=keep)
    assert kept == [0, 1]
    assert workers.asked == NAMES[:3]
    assert workers.opened[0].shut


def test_a_worker_that_is_not_as_it_should_be_stops_the_work() -> None:
    with pytest.raises(WorkersError, match="numpy"):
        run(FakeWorkers(), lambda task: Outcome(unfit="numpy is 1 here and 2 there"))


def test_workers_that_go_away_are_reported() -> None:
    def gone(task: PhotoTask) -> Outcome:
        raise CancelledError

    with pytest.raises(WorkersError, match="what was measured is kept"):
        run(FakeWorkers(), gone)


def test_a_fault_of_the_program_is_not_hidden() -> None:
    def faulty(task: PhotoTask) -> Outcome:
        raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        run(FakeWorkers(), faulty)


def test_when_nothing_comes_and_nobody_works_it_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    class Never(LastFirst):
        def submit(self, fn, /, *args, **kwargs) -> Future:  # type: ignore[no-untyped-def, override]
            return Future()

    class Nobody(FakeWorkers):
        @contextmanager
        def open(self) -> Iterator[Executor]:
            yield Never({})

    monkeypatch.setattr("chordline.application.measure_many._PATIENCE_S", 0.01)
    with pytest.raises(WorkersError, match="no worker is left"):
        run(Nobody())


@pytest.mark.parametrize(
    ("photos", "cores", "processes"),
    [(63, 8, 1), (64, 8, 8), (64, 16, 8), (500, 2, 2), (500, 1, 1)],
)
def test_a_small_folder_starts_no_processes(photos: int, cores: int, processes: int) -> None:
    assert worth_workers(photos, cores) == processes


CATALOGUE = load_catalogue()


@dataclass
class Steps:
    """Progress that remembers."""

    total: int = 0
    steps: list[str] = field(default_factory=list)

    def start(self, total: int) -> None:
        self.total = total

    def step(self, label: str) -> None:
        self.steps.append(label)


def screen(names: tuple[str, ...], cache: DictCache, many: Callable[[int], MeasureMany | None]):  # type: ignore[no-untyped-def]
    reader = FakeReader(broken=("11_prone-out.jpg",))
    photos = MeasurePhoto(reader, FakeCards(), FakePoses((body_of(PRONE),)), CATALOGUE)
    steps = Steps()
    contents = FolderContents(tuple(map(Path, names)), roster=(Gymnast("Juna", 11),))
    result = ScreenFolder(photos, CATALOGUE, reader, None, many)(
        contents, cache=cache, progress=steps
    )
    return result, steps


PHOTOS = ("11_prone-sides.jpg", "11_prone-out.jpg", "11_prone-raised.jpg", "IMG_1.jpg")


def on_workers(asked: list[int]) -> Callable[[int], MeasureMany]:
    photos = MeasurePhoto(FakeReader(), FakeCards(), FakePoses((body_of(PRONE),)), CATALOGUE)

    def measure(task: PhotoTask) -> Outcome:
        try:
            return Outcome(photos(Path(task.name), task.request))
        except RefusedInputError as error:
            return Outcome(refusal=str(error))

    def choose(count: int) -> MeasureMany:
        asked.append(count)
        return MeasureMany(FakeWorkers(), measure)

    return choose


def test_a_folder_on_workers_is_the_folder_measured_one_by_one() -> None:
    alone, alone_steps = screen(PHOTOS, DictCache(), lambda count: None)
    asked: list[int] = []
    cache = DictCache()
    many, steps = screen(PHOTOS, cache, on_workers(asked))
    assert [one.photo for one in many.measurements] == ["11_prone-sides.jpg", "11_prone-raised.jpg"]
    assert list(map(repr, many.measurements)) == list(map(repr, alone.measurements))
    assert many.left_out == alone.left_out
    # The unreadable photo and the one without a test are no work for workers.
    assert asked == [2]
    assert steps.total == alone_steps.total == len(steps.steps) == len(alone_steps.steps)


def test_what_is_remembered_is_not_sent_to_workers() -> None:
    asked: list[int] = []
    cache = DictCache()
    screen(PHOTOS, cache, on_workers(asked))
    screen((*PHOTOS, "11_prone-active.jpg"), cache, on_workers(asked))
    screen(PHOTOS, cache, on_workers(asked))
    assert asked == [2, 1]
