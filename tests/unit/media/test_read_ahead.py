import threading
import time
from collections.abc import Iterator

import pytest

from chordline.adapters.media.read_ahead import read_ahead


def readers() -> int:
    return sum(one.name == "chordline-read-ahead" for one in threading.enumerate())


def test_everything_comes_in_order() -> None:
    assert list(read_ahead(iter(range(100)), depth=4)) == list(range(100))


def test_a_fault_of_the_source_comes_out_after_what_it_gave() -> None:
    def source() -> Iterator[int]:
        yield 1
        raise LookupError("gone")

    taken = read_ahead(source(), depth=4)
    assert next(taken) == 1
    with pytest.raises(LookupError, match="gone"):
        next(taken)


def test_the_source_runs_no_farther_ahead_than_asked() -> None:
    made = []

    def source() -> Iterator[int]:
        for one in range(50):
            made.append(one)
            yield one

    taken = read_ahead(source(), depth=3)
    assert next(taken) == 0
    time.sleep(0.3)
    assert len(made) <= 1 + 3 + 1
    taken.close()


def test_who_stops_early_leaves_no_thread_behind() -> None:
    closed = []

    def source() -> Iterator[int]:
        try:
            yield from range(1000)
        finally:
            closed.append(True)

    taken = read_ahead(source(), depth=2)
    next(taken)
    assert readers() == 1
    taken.close()
    assert readers() == 0
    assert closed == [True]
