"""A made video in Debian's chromium: brought, trimmed, measured, looked through."""

import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from editor_pages import ROOT, missing_browser
from photo_gym import Gym

sys.path.insert(0, str(ROOT / "tools"))
import fetch_axe
from chordline.application.club.records import NewGymnast
from chordline.bootstrap import App
from gym_site import listening
from made_videos import Shown, club_picture, even_times, film, has_encoder, write_video

pytestmark = [pytest.mark.browser, pytest.mark.slow]

#: When the hips have closed half way from the one picture to the other, beyond the limit.
BREAK_S = 4.0
SECONDS = 5.0
SIZES = ((1280, 800), (820, 1180), (390, 844))
TOO_SMALL = """() => [...document.querySelectorAll('main :is(a, button, select, summary, \
        input:not([type=hidden]), [role=slider])')]
    .map(one => [one.closest('label') || one, one.outerHTML.slice(0, 80)])
    .filter(([one]) => {
        const box = one.getBoundingClientRect();
        return box.width && (box.width < 43.5 || box.height < 43.5);
    }).map(([, told]) => told)"""


@pytest.fixture(scope="module")
def brought(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A hold that breaks at the hips, in a format that the browser plays."""
    codec, suffix = ("libx264", "mp4") if has_encoder("libx264") else ("libvpx-vp9", "webm")
    shown = [
        Shown(0.0, club_picture("13_supine-overhead")),
        Shown(BREAK_S, club_picture("13_dish-overhead"), 0.1),
    ]
    path = tmp_path_factory.mktemp("film") / f"13_hold-back.{suffix}"
    return write_video(path, film(shown, even_times(SECONDS)), codec=codec)


@pytest.fixture(scope="module")
def club(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[App, int]]:
    app = App(data=tmp_path_factory.mktemp("club"))
    with app.records.transaction() as tx:
        club = tx.clubs.add("Turnverein")
        tx.gymnasts.add(club.id, NewGymnast("Tessa Marlowe", card=13))
    with listening(app, measure=True) as port:
        yield app, port


@pytest.fixture
def gym(browser: Any, club: tuple[App, int]) -> Iterator[Gym]:
    gym = Gym(browser, *club)
    yield gym
    gym.context.close()
    assert gym.faults == []


def bring(gym: Gym, path: Path) -> None:
    """Choose a file on the screening page, and come to its own page."""
    gym.go("/screening")
    gym.page.locator("[data-pick=files]").set_input_files(path)
    gym.page.wait_for_url("**/videos/*")
    gym.page.locator("[data-step]").first.wait_for()


def shown_s(gym: Gym) -> float:
    return float(gym.page.locator("[data-scrub]").get_attribute("aria-valuenow") or "nan")


def playing_s(gym: Gym) -> float:
    """The video's own time, once it stands still."""
    gym.page.wait_for_function("!document.querySelector('[data-video]').seeking")
    return float(gym.page.evaluate("document.querySelector('[data-video]').currentTime"))


def wait_measured(gym: Gym, video_id: int) -> dict[str, Any]:
    deadline = time.monotonic() + 120
    while True:
        video: dict[str, Any] = gym.api(f"/videos/{video_id}")
        if video["state"] not in ("arrived", "waiting"):
            return video
        assert time.monotonic() < deadline, "it is never measured"
        time.sleep(0.2)


def check_looks(gym: Gym) -> None:
    """Nothing too small to be tapped and nothing beside the screen; both themes are accessible."""
    page = gym.page
    for width, height in SIZES:
        page.set_viewport_size({"width": width, "height": height})
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), width
        assert page.evaluate(TOO_SMALL) == [], width
    page.set_viewport_size({"width": 1280, "height": 800})
    for scheme in ("dark", "light"):
        page.emulate_media(color_scheme=scheme)
        assert accessibility_faults(gym) == [], scheme


def accessibility_faults(gym: Gym) -> list[Any]:
    axe: Path = fetch_axe.PATH
    if not axe.is_file():
        missing_browser("axe-core is not there; 'python tools/fetch_axe.py' fetches it")
    if not gym.page.evaluate("'axe' in window"):
        gym.page.add_script_tag(path=str(axe))
    tags = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
    found = gym.page.evaluate("tags => axe.run(document, {runOnly: tags})", tags)
    return [(one["id"], one["nodes"][0]["html"]) for one in found["violations"]]


@pytest.mark.weights
def test_a_hold_is_brought_trimmed_measured_and_looked_through(gym: Gym, brought: Path) -> None:
    page = gym.page
    bring(gym, brought)
    video_id = int(page.url.rpartition("/")[2])
    assert page.locator("h1").inner_text() == "Tessa Marlowe"
    check_looks(gym)

    page.locator("[data-trim] .trim-from").focus()
    for _ in range(3):
        page.keyboard.press("ArrowRight")
    assert float(page.locator("#from").input_value()) == pytest.approx(0.1, abs=0.02)
    page.locator("#test").select_option("hold-back")
    page.get_by_role("button", name="Measure").click()
    page.locator("[data-progress]").wait_for()
    measured = wait_measured(gym, video_id)
    assert measured["from_s"] == pytest.approx(0.1, abs=0.02)
    page.locator("[data-trace]").first.wait_for(timeout=20_000)

    assert "then the hips closed" in page.locator(".film-first").inner_text()
    words = page.locator(".mark-words").inner_text()
    assert words.startswith("The hips close at")
    assert float(words.split()[4]) == pytest.approx(BREAK_S, abs=0.2)
    line = page.locator("[data-line] .body-line")
    line.wait_for(state="attached")
    assert page.locator("[data-line] .ring").count() == 0

    # A tap on a trace leads the video there, the line and the words with it.
    hips = page.locator("[data-trace=hip_opening_deg]")
    before = line.get_attribute("points")
    plot = hips.locator(".trace-plot")
    box = plot.bounding_box()
    assert box is not None
    plot.click(position={"x": 0.97 * box["width"], "y": 0.5 * box["height"]})
    at_s = shown_s(gym)
    assert at_s > BREAK_S + 0.5
    assert playing_s(gym) == pytest.approx(at_s, abs=0.02)
    page.wait_for_function(
        "was => document.querySelector('[data-line] .body-line').getAttribute('points') !== was",
        arg=before,
    )
    assert page.locator("[data-line] .ring").count() == 2
    assert "closed by" in hips.inner_text()
    page.locator("[data-scrub]").focus()
    page.keyboard.press("ArrowLeft")
    at_s = shown_s(gym)
    page.keyboard.press("ArrowLeft")
    assert at_s - shown_s(gym) == pytest.approx(1 / 30, abs=0.011)
    page.keyboard.press("Shift+ArrowLeft")
    page.keyboard.press("Home")
    assert shown_s(gym) == 0.0

    page.locator(".traces summary").click()
    check_looks(gym)
    page.get_by_role("link", name="Marks of this moment").click()
    page.wait_for_url("**/photos/*")
    page.locator(".photo-editor svg").first.wait_for()
    gym.go(f"/screens/{measured['screen_id']}")
    assert page.locator(f"a[href='/videos/{video_id}']").first.is_visible()


def test_space_plays_and_the_line_of_time_follows(gym: Gym, brought: Path) -> None:
    bring(gym, brought)
    page = gym.page
    page.locator("[data-scrub]").focus()
    page.keyboard.press("Home")
    assert shown_s(gym) == 0.0
    page.keyboard.press("Space")
    page.get_by_role("button", name="Pause").wait_for()
    page.wait_for_function("Number(document.querySelector('[data-scrub]').ariaValueNow) > 0.3")
    page.keyboard.press("Space")
    page.get_by_role("button", name="Play").wait_for()
    assert shown_s(gym) == pytest.approx(playing_s(gym), abs=0.06)


@pytest.mark.skipif(not has_encoder("libx265"), reason="this FFmpeg cannot write HEVC")
def test_what_the_browser_cannot_play_is_shown_frame_by_frame(gym: Gym, tmp_path: Path) -> None:
    frames = ((t, np.full((480, 640, 3), int(60 + 30 * t), np.uint8)) for t in even_times(2.0))
    bring(gym, write_video(tmp_path / "phone.mp4", frames, codec="libx265"))
    page = gym.page
    page.wait_for_function("document.querySelector('[data-still]').naturalWidth > 0")
    assert "cannot play" in page.locator("[data-note]").inner_text()
    first = page.locator("[data-still]").get_attribute("src")
    page.locator("[data-scrub]").focus()
    page.keyboard.press("Shift+ArrowRight")
    page.wait_for_function("was => document.querySelector('[data-still]').src !== was", arg=first)
    assert page.locator("[data-still]").is_visible()
