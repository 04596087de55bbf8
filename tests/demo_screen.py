"""The demo club's 48 photos, measured one by one: once for all tests of a process.

Who was found in a picture is kept, too: that is most of the work.
"""

import hashlib
import os
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from application_doubles import DictCache
from chordline.application.headway import Silent
from chordline.application.ports import PoseEstimator
from chordline.application.screen_folder import FolderScreen
from chordline.bootstrap import App
from chordline.core.body.found import FoundBody

Pixels = NDArray[np.uint8]
CLUB = Path(__file__).resolve().parents[1] / "src" / "chordline" / "demo" / "club"


class Remembering:
    """A finder that knows what it found in a picture before."""

    def __init__(self, poses: PoseEstimator) -> None:
        self.model = poses.model
        self._poses = poses
        self._found: dict[bytes, tuple[FoundBody, ...]] = {}

    def find(self, rgb: Pixels) -> tuple[FoundBody, ...]:
        key = hashlib.sha256(rgb.tobytes()).digest()
        if key not in self._found:
            self._found[key] = self._poses.find(rgb)
        return self._found[key]


@cache
def remembering() -> Remembering:
    """The installed weights' finder; without them the test is skipped, or fails if they must be."""
    poses = App().poses
    if poses is None:
        if os.environ.get("CHORDLINE_REQUIRE_WEIGHTS") == "1":
            pytest.fail("the pose weights are missing (CHORDLINE_REQUIRE_WEIGHTS is set)")
        pytest.skip("the pose weights are missing")
    return Remembering(poses)


@cache
def demo_screen() -> FolderScreen:
    app = App()
    app.__dict__["poses"] = remembering()
    result = app.screen_folder()(app.folders.read(CLUB), cache=DictCache(), progress=Silent())
    assert len(result.measurements) == 48
    return result
