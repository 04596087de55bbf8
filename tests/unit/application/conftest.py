"""The club's records in a file of the test's own, and what all tests of videos share."""

import pickle
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from chordline.adapters.db.records import SqlRecords, open_records
from chordline.application import video_course


@pytest.fixture
def records(tmp_path: Path) -> Iterator[SqlRecords]:
    opened = open_records(f"sqlite:///{tmp_path / 'club.db'}")
    yield opened
    opened.close()


def made_once(make: Callable[..., Any]) -> Callable[..., Any]:
    """Return a function without side effects that works out the same question once."""
    known: dict[bytes, Any] = {}

    def look_up(*asked: Any, **said: Any) -> Any:
        key = pickle.dumps((asked, said))
        if key not in known:
            known[key] = make(*asked, **said)
        return known[key]

    return look_up


@pytest.fixture(scope="session", autouse=True)
def courses_read_once() -> Iterator[None]:
    """Let all videos share what is read from the same landmarks: most show the same few bodies.

    Smoothing ten seconds of landmarks and tracing their measures takes a quarter of a second, and
    a video is read twice: to find its best moment, and with what that moment shows.
    """
    with pytest.MonkeyPatch.context() as patch:
        for name in ("smooth_footage", "trace_measures"):
            patch.setattr(video_course, name, made_once(getattr(video_course, name)))
        yield
