"""Workers of every kind: the same bits as one by one, whoever is killed meanwhile."""

import os
import pickle
import signal
import socket
import subprocess
import sys
from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import partial
from pathlib import Path

import pytest

from application_doubles import DictCache
from chordline.adapters.workers.dask_cluster import DaskCluster
from chordline.application.headway import Silent
from chordline.application.measure_many import MeasureMany, PhotoTask
from chordline.application.measure_photo import MeasureRequest
from chordline.application.screen_folder import FolderScreen
from chordline.bootstrap import App
from chordline.catalogue.loader import load_catalogue
from chordline.errors import WorkersError, WrongUseError
from chordline.measuring_worker import (
    CATALOGUE,
    PROBE,
    WEIGHTS,
    WorkerSetup,
    fingerprint,
    measure_many_on,
    measure_task,
    measurement_bits,
    tell_differences,
)
from demo_screen import CLUB, demo_screen

#: So many of the 48 photos are measured, more than are handed out at once, and a worker is killed
#: after so many.
BY_CLUSTER, MID_WAY = 20, 8
BY_PROCESSES, EARLY = 8, 3


class KillsAt(Silent):
    """Progress that kills a worker when so many photos are done."""

    def __init__(self, done: int, victim: Callable[[], int]) -> None:
        self.left = done
        self.victim = victim
        self.killed = 0

    def step(self, label: str) -> None:
        self.left -= 1
        if self.left == 0:
            self.killed = self.victim()
            os.kill(self.killed, signal.SIGKILL)


def screened(
    many: Callable[[int], MeasureMany | None], progress: Silent, *, photos: int
) -> FolderScreen:
    app = App()
    contents = app.folders.read(CLUB)
    few = replace(contents, photos=contents.photos[:photos])
    return app.screen_folder(many)(few, cache=DictCache(), progress=progress)


def bits_of(result: FolderScreen) -> dict[str, bytes]:
    return {one.photo: measurement_bits(one) for one in result.measurements}


@pytest.fixture(scope="module")
def one_by_one() -> dict[str, bytes]:
    return bits_of(demo_screen())


def children() -> set[int]:
    listed = Path(f"/proc/self/task/{os.getpid()}/children").read_text(encoding="ascii")
    return {int(pid) for pid in listed.split()}


@pytest.mark.slow
@pytest.mark.weights
@pytest.mark.skipif(not Path("/proc/self/task").exists(), reason="children are listed by Linux")
def test_processes_give_the_same_bits_though_one_is_killed(one_by_one: dict[str, bytes]) -> None:
    before = children()
    # The first child is multiprocessing's tracker of resources; the last is a worker.
    kills = KillsAt(EARLY, lambda: max(children() - before))
    result = screened(partial(App().measure_many, workers=2), kills, photos=BY_PROCESSES)
    assert kills.killed
    bits = bits_of(result)
    assert len(bits) == BY_PROCESSES
    assert bits == {photo: one_by_one[photo] for photo in bits}


@pytest.fixture(scope="module")
def cluster() -> Iterator[tuple[str, list[int]]]:
    """Give the address of a cluster with two workers, and their processes."""
    distributed = pytest.importorskip("distributed")
    with (
        distributed.LocalCluster(
            n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None
        ) as local,
        distributed.Client(local, set_as_default=False) as client,
    ):
        yield local.scheduler_address, list(client.run(os.getpid).values())


@pytest.mark.slow
@pytest.mark.weights
def test_a_cluster_gives_the_same_bits_though_a_worker_is_killed(
    one_by_one: dict[str, bytes], cluster: tuple[str, list[int]]
) -> None:
    address, pids = cluster
    kills = KillsAt(MID_WAY, lambda: pids[0])
    result = screened(partial(App().measure_many, cluster=address), kills, photos=BY_CLUSTER)
    assert kills.killed == pids[0]
    assert not Path(f"/proc/{pids[0]}").exists()
    assert result.left_out == ()
    bits = bits_of(result)
    assert len(bits) == BY_CLUSTER
    assert bits == {photo: one_by_one[photo] for photo in bits}


@pytest.mark.slow
@pytest.mark.weights
def test_a_cluster_with_another_catalogue_is_refused_before_any_photo(
    cluster: tuple[str, list[int]],
) -> None:
    ours = tuple((name, "abc" if name == CATALOGUE else here) for name, here in fingerprint())
    workers = DaskCluster(
        cluster[0], fingerprint=fingerprint, check=partial(tell_differences, ours)
    )
    many = MeasureMany(workers, lambda task: pytest.fail("no photo is measured"))
    with pytest.raises(WorkersError, match="catalogue is abc here"):
        many([lambda: pytest.fail("no photo is read")], keep=lambda index, outcome: None)


@pytest.mark.slow
@pytest.mark.weights
def test_a_worker_that_joins_later_and_differs_measures_nothing() -> None:
    ours = tuple((name, "1.0" if name == "numpy" else here) for name, here in fingerprint())
    setup = WorkerSetup(pickle.dumps(load_catalogue()), ours)
    photo = PhotoTask("13.jpg", b"", MeasureRequest("prone-overhead"))
    outcome = measure_task(setup, photo)
    assert outcome.measurement is None
    assert "numpy is 1.0 here" in outcome.unfit


def test_the_first_difference_is_told_with_what_to_do() -> None:
    ours = (("numpy", "2.4"), (CATALOGUE, "a"), (WEIGHTS, "heavy"), (PROBE, "f00"))
    told = {
        name: tell_differences(
            ours, {"tcp://a": ours, "tcp://b": tuple((n, "?" if n == name else v) for n, v in ours)}
        )
        for name, _ in ours
    }
    assert "tcp://b" in told["numpy"]
    assert "install the same numpy" in told["numpy"]
    assert "the same one on both" in told[CATALOGUE]
    assert "chordline weights" in told[WEIGHTS]
    assert "processor" in told[PROBE]
    assert tell_differences(ours, {"tcp://a": ours}) == ""


#: Stands for an address where nobody listens; which one is found when the test runs.
FREE = "free"


def free_address() -> str:
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        return f"tcp://127.0.0.1:{one.getsockname()[1]}"


@pytest.mark.slow
@pytest.mark.parametrize("address", [FREE, "tcp://nobody.invalid:8786", "not an address"])
def test_a_cluster_that_does_not_answer_is_told(
    address: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    pytest.importorskip("distributed")
    monkeypatch.setattr("chordline.adapters.workers.dask_cluster._ANSWERS_WITHIN", "1s")
    monkeypatch.setattr("chordline.measuring_worker.fingerprint", lambda: ())
    asked = free_address() if address == FREE else address
    many = measure_many_on(load_catalogue(), processes=0, cluster=asked)
    with pytest.raises(WorkersError, match="no cluster answers at"):
        many([lambda: pytest.fail("no photo is read")], keep=lambda index, outcome: None)


def test_without_dask_it_says_how_to_get_it(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "distributed", None)
    monkeypatch.setattr("chordline.measuring_worker.fingerprint", lambda: ())
    many = measure_many_on(load_catalogue(), processes=0, cluster="tcp://127.0.0.1:1")
    with pytest.raises(WrongUseError, match=r"pip install 'chordline\[cluster\]'"):
        many([lambda: pytest.fail("no photo is read")], keep=lambda index, outcome: None)


def test_workers_and_cluster_together_are_worded_wrongly(tmp_path: Path) -> None:
    words = ["screen", str(tmp_path), "--workers", "2", "--cluster", "tcp://a:1"]
    run = subprocess.run(
        [sys.executable, "-m", "chordline", *words], capture_output=True, text=True, check=False
    )
    assert run.returncode == 2
    assert "a cluster has its own workers" in run.stderr
