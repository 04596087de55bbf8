"""Who came first writes first, and who waits too long is told."""

import threading

import pytest

from chordline.adapters.db.writers_line import WritersLine
from chordline.errors import RecordsBusyError


def test_writers_come_in_the_order_in_which_they_asked() -> None:
    line, order, threads = WritersLine(), [], []

    def write(number: int) -> None:
        with line.turn():
            order.append(number)

    with line.turn():
        for number in range(20):
            thread = threading.Thread(target=write, args=(number,))
            thread.start()
            threads.append(thread)
            while len(line._waiting) <= number:
                pass
    for thread in threads:
        thread.join()
    assert order == list(range(20))
    assert not line._taken


def test_who_waits_too_long_is_told_and_leaves_the_line() -> None:
    line = WritersLine()
    with line.turn():
        with pytest.raises(RecordsBusyError), line.turn(within_s=0.01):
            pass
        assert not line._waiting
    with line.turn(within_s=0.01):
        pass


def test_a_writer_that_fails_lets_the_next_one_in() -> None:
    line = WritersLine()
    with pytest.raises(ZeroDivisionError), line.turn():
        _ = 1 / 0
    with line.turn(within_s=0.01):
        pass
