"""The demo club's 48 photos, measured one by one: once for all tests of a process."""

import os
from functools import cache
from pathlib import Path

import pytest

from application_doubles import DictCache
from chordline.application.headway import Silent
from chordline.application.screen_folder import FolderScreen
from chordline.bootstrap import App

CLUB = Path(__file__).resolve().parents[1] / "src" / "chordline" / "demo" / "club"


@cache
def demo_screen() -> FolderScreen:
    app = App()
    if app.poses is None:
        if os.environ.get("CHORDLINE_REQUIRE_WEIGHTS") == "1":
            pytest.fail("the pose weights are missing (CHORDLINE_REQUIRE_WEIGHTS is set)")
        pytest.skip("the pose weights are missing")
    result = app.screen_folder()(app.folders.read(CLUB), cache=DictCache(), progress=Silent())
    assert len(result.measurements) == 48
    return result
