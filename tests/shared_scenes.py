"""Scenes of the exercises' drawings, set once a process: setting all takes half a second."""

from collections.abc import Iterator
from contextlib import contextmanager

import pytest

from chordline.catalogue import drawings
from chordline.core.figure.pose import Build
from chordline.core.figure.scene import Drawing, Scene, set_scenes

_KNOWN: dict[str, tuple[Scene, Scene]] = {}


@contextmanager
def scenes_set_once() -> Iterator[None]:
    """Let whoever loads drawings share the scenes of the same drawing and build."""

    def look_up(drawing: Drawing, build: Build) -> tuple[Scene, Scene]:
        # Both are written with every number that they have.
        key = repr((drawing, build))
        if key not in _KNOWN:
            _KNOWN[key] = set_scenes(drawing, build)
        return _KNOWN[key]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(drawings, "set_scenes", look_up)
        yield
