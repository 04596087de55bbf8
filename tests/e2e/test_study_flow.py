"""A study of marks in Debian's chromium: blind photos, keys and taps, stop and go on."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from photo_gym import Gym, open_club

from application_doubles import PRONE
from chordline.bootstrap import App

pytestmark = pytest.mark.browser

JOINTS = ("malleolus", "knee", "hip", "shoulder", "hand")


@pytest.fixture
def opened(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[tuple[App, int]]:
    with open_club(tmp_path, monkeypatch) as opened:
        yield opened


@pytest.fixture
def gym(opened: tuple[App, int], browser: Any) -> Iterator[Gym]:
    gym = Gym(browser, *opened)
    yield gym
    gym.context.close()
    assert gym.faults == []


def begin(gym: Gym) -> int:
    """A study of ten photos, once each, with Kim at the screen."""
    gym.go("/look")
    tests = ("prone-overhead", "prone-sides", "prone-out", "prone-raised", "prone-active")
    for i, test in enumerate(test for test in tests for _ in range(2)):
        gym.send(f"{11 + i % 2}_{test}.jpg", 20 + i)
    gym.wait_measured()
    study = gym.app.mark_study().begin(
        gym.app.club().id, count=10, twice=False, seed=5, author="Kim"
    )
    gym.go(f"/studies/{study.id}")
    gym.page.get_by_label("I am").fill("Kim")
    gym.page.get_by_role("button", name="Mark now").click()
    gym.page.get_by_role("heading", name="Photo 1 of 10").wait_for()
    return study.id


def tap(gym: Gym, joint: str) -> None:
    """Tap where a joint is in the picture, as the stage shows it."""
    box = gym.page.locator(".cl-picture").bounding_box()
    x, y = PRONE[joint]
    gym.page.mouse.click(box["x"] + x * box["width"] / 1600, box["y"] + y * box["height"] / 1200)


def needed(gym: Gym) -> list[str]:
    test = gym.page.locator(".cl-editor").get_attribute("aria-label") or ""
    overhead = any(word in test for word in ("over the ears", "lifted", "lifts"))
    return list(JOINTS if overhead else JOINTS[:4])


def finish(gym: Gym, number: int) -> None:
    gym.page.keyboard.press("Enter")
    gym.page.get_by_role("heading", name=f"Photo {number} of 10").wait_for()


def test_two_blind_photos_by_taps_and_by_keys_then_too_few(gym: Gym) -> None:
    study_id = begin(gym)
    page = gym.page
    # Blind: no mark, no angle, nobody's name.
    assert page.locator(".cl-handle").count() == 0
    body = page.locator("main").inner_text()
    assert "Mila" not in body
    assert "Ida" not in body
    assert "°" not in body
    # By taps.
    for joint in needed(gym):
        tap(gym, joint)
    page.get_by_role("heading", name="All landmarks are set").wait_for()
    assert "°" not in page.locator("main").inner_text()
    finish(gym, 2)
    # By keys: Enter sets the next joint in the middle, arrows move it to its place.
    joints = needed(gym)
    page.get_by_role("button", name="It is right").focus()
    for i, _ in enumerate(joints):
        page.keyboard.press("Enter")
        for _ in range(i + 1):
            page.keyboard.press("Shift+ArrowLeft")
    page.get_by_role("heading", name="All landmarks are set").wait_for()
    finish(gym, 3)
    # Stop and come back: the third photo waits.
    page.get_by_role("link", name="Stop for now").click()
    page.get_by_text("2 of 10 marked").wait_for()
    page.get_by_text("too few data", exact=False).first.wait_for()
    assert page.get_by_role("button", name="Use these for our club").count() == 0
    page.get_by_role("button", name="Go on marking").click()
    page.get_by_role("heading", name="Photo 3 of 10").wait_for()
    with gym.app.records.reading() as tx:
        tasks = [one for one in tx.studies.tasks(study_id) if one.done_at]
        assert len(tasks) == 2
        assert all("hip_opening_deg" in one.readings for one in tasks)
        assert all(not tx.photos.marks_history(one.photo_id) for one in tasks)


def test_half_a_photo_survives_a_reload(gym: Gym) -> None:
    begin(gym)
    tap(gym, "malleolus")
    gym.page.locator(".cl-handle").first.wait_for()
    gym.page.on("dialog", lambda dialog: dialog.accept())
    gym.page.reload()
    gym.page.get_by_role("heading", name="Photo 1 of 10").wait_for()
    gym.page.locator(".cl-handle").first.wait_for()
    assert gym.page.locator(".cl-handle").count() == 1
