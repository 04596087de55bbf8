"""The live line in Debian's chromium, whose camera plays a film of the demo club."""

import json
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from editor_pages import CLUB, ROOT, missing_browser
from fake_camera import club_scene, empty_mat, launched_with_camera, write_y4m
from photo_gym import Gym, open_club

from chordline.adapters.pose.live_eye import BlazePoseEye
from chordline.adapters.pose.weights import choose_weights
from chordline.application.live.ports import LiveEye
from chordline.bootstrap import App
from chordline.errors import WeightsError
from live_stories import TellingEye, girl, straight_girl

sys.path.insert(0, str(ROOT / "tools"))
import fetch_axe

pytestmark = [pytest.mark.browser, pytest.mark.slow]

LYING = CLUB / "13_prone-overhead.jpg"


@pytest.fixture(scope="module")
def playwright() -> Iterator[Any]:
    try:
        from playwright.sync_api import sync_playwright  # noqa: PLC0415
    except ImportError:
        missing_browser("playwright is not installed")
    with sync_playwright() as playwright:
        yield playwright


@pytest.fixture(scope="module")
def filmed(playwright: Any, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    """A browser whose camera sees the girl for six seconds, then an empty mat for six."""
    film = tmp_path_factory.mktemp("film") / "girl.y4m"
    write_y4m(film, [(club_scene(LYING), 6.0), (empty_mat(), 6.0)])
    with launched_with_camera(playwright, film) as browser:
        yield browser


@pytest.fixture
def opened(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[tuple[App, int]]:
    with open_club(tmp_path, monkeypatch) as opened:
        yield opened


@contextmanager
def beside_the_mat(
    browser: Any,
    opened: tuple[App, int],
    eye: LiveEye,
    *,
    path: str = "/live?test=prone-overhead",
    camera: bool = True,
    **context: Any,
) -> Iterator[Gym]:
    app, port = opened
    app.__dict__["live_eye"] = eye
    gym = Gym(browser, app, port, permissions=["camera"] if camera else [], **context)
    if path.startswith("/"):
        gym.go(path)
    yield gym
    gym.context.close()
    assert gym.faults == []


def headline(gym: Gym) -> Any:
    return gym.page.locator("[data-headline]")


def fault(gym: Gym) -> Any:
    return gym.page.locator("[data-fault]")


def photos_of(gym: Gym) -> int:
    with gym.app.records.reading() as tx:
        return tx.photos.queue(gym.app.club().id, after=None, limit=50).total + len(
            list((gym.app.data_folder / "photos").rglob("*.*"))
        )


# With the networks


@pytest.mark.weights
def test_the_line_and_the_angles_come_back_and_go_when_she_goes(
    filmed: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    try:
        weights = choose_weights()
    except WeightsError as error:
        if os.environ.get("CHORDLINE_REQUIRE_WEIGHTS") == "1":
            pytest.fail(str(error))
        pytest.skip(str(error))
    eye = BlazePoseEye.from_weights(weights, let_go_s=1.0, forget_s=4.0, notice_s=1.5)
    with open_club(tmp_path, monkeypatch) as opened, beside_the_mat(filmed, opened, eye) as gym:
        page = gym.page
        page.locator("[data-tap]").click()
        page.locator(".body-line").wait_for(state="attached", timeout=30_000)
        headline(gym).get_by_text("Short of the line").wait_for(timeout=30_000)
        rows = page.locator(".reading").all_inner_texts()
        assert [row.split()[0] for row in rows] == ["Shoulders", "Hips", "Knees"]
        shoulders = int(rows[0].split("\n")[-1].split("°")[0])
        assert 15 <= shoulders <= 35
        ends = page.locator(".chord").get_attribute("points").split()
        # Her feet are on the left of the camera's picture and her hands on the right, or the
        # other way round, where the demo girl lies; both on the mat.
        for x, y in (map(float, end.split(",")) for end in ends):
            assert 0 < x < 640
            assert 200 < y < 340
        page.locator("[data-do]").get_by_text("She").wait_for(timeout=30_000)
        page.locator(".body-line").wait_for(state="detached", timeout=30_000)
        page.locator(".body-line").wait_for(state="attached", timeout=30_000)
        assert page.locator("[data-pace]").inner_text().split()[1] == "ms"
        assert photos_of(gym) == 0


# With a finder that tells a story


def test_a_tap_starts_and_a_tap_stops_and_the_camera_is_off(
    filmed: Any, opened: tuple[App, int]
) -> None:
    with beside_the_mat(filmed, opened, TellingEye([straight_girl()])) as gym:
        page = gym.page
        assert page.get_by_role("button", name="Keep this picture").is_disabled()
        page.get_by_role("button", name="Start").click()
        headline(gym).get_by_text("On the line").wait_for()
        page.evaluate("window.track = document.querySelector('video').srcObject.getTracks()[0]")
        assert len(gym.app.live) == 1
        with page.expect_response(lambda answer: answer.request.method == "DELETE") as ended:
            page.get_by_role("button", name="Stop").click()
        assert ended.value.status == 204
        headline(gym).get_by_text("Stopped").wait_for()
        assert page.evaluate("window.track.readyState") == "ended"
        assert page.locator("[data-line] > *").count() == 0
        assert len(gym.app.live) == 0
        assert photos_of(gym) == 0


def test_space_starts_and_stops_but_not_within_a_field(
    filmed: Any, opened: tuple[App, int]
) -> None:
    with beside_the_mat(filmed, opened, TellingEye([straight_girl()])) as gym:
        gym.page.keyboard.press("Space")
        headline(gym).get_by_text("On the line").wait_for()
        gym.page.get_by_label("Gymnast").press("Space")
        gym.page.wait_for_timeout(300)
        assert headline(gym).inner_text() == "On the line"
        gym.page.locator("h1").click()
        gym.page.keyboard.press("Space")
        headline(gym).get_by_text("Stopped").wait_for()


def test_a_pressed_key_keeps_one_photo_of_her(filmed: Any, opened: tuple[App, int]) -> None:
    with beside_the_mat(filmed, opened, TellingEye([straight_girl()])) as gym:
        page = gym.page
        page.get_by_role("button", name="Start").click()
        headline(gym).get_by_text("On the line").wait_for()
        page.get_by_label("Gymnast").fill("Nobody At All")
        page.get_by_role("button", name="Keep this picture").click()
        page.get_by_text("Nobody is called 'Nobody At All'").wait_for()
        page.get_by_label("Gymnast").fill("12")
        page.get_by_role("button", name="Keep this picture").click()
        page.get_by_text("Kept as a photo of Ida Sol, card 12.").wait_for()
        told = gym.api("/photos/1")["photo"]
        assert (told["gymnast"]["name"], told["test"]) == ("Ida Sol", "prone-overhead")
        assert gym.context.request.get(f"{gym.address}/api/photos/2").status == 404


def test_the_other_near_side_turns_the_words(filmed: Any, opened: tuple[App, int]) -> None:
    with beside_the_mat(filmed, opened, TellingEye([girl(shoulder_px=30)])) as gym:
        gym.page.get_by_role("button", name="Start").click()
        gym.page.get_by_text("Shoulders closed").first.wait_for()
        gym.page.get_by_text("Her left side is near, her front faces down").wait_for()
        gym.page.get_by_label("Right", exact=True).check()
        gym.page.get_by_text("her front faces up: as you said.").wait_for()
        gym.page.get_by_text("Shoulders open").first.wait_for()
        gym.page.get_by_label("Test", exact=True).select_option("prone-sides")
        gym.page.get_by_text("as the test says").wait_for()


def test_the_tone_sounds_only_when_it_is_switched_on_and_only_in_shape(
    filmed: Any, opened: tuple[App, int]
) -> None:
    story = [*[straight_girl()] * 40, "hidden"]
    with beside_the_mat(filmed, opened, TellingEye(story), path="about:blank") as gym:
        gym.page.add_init_script(
            """window.loud = [];
            const set = AudioParam.prototype.setTargetAtTime;
            AudioParam.prototype.setTargetAtTime = function (value, ...rest) {
              if (value < 1) window.loud.push(value);
              return set.call(this, value, ...rest);
            };"""
        )
        gym.go("/live?test=prone-overhead")
        gym.page.get_by_role("button", name="Start").click()
        headline(gym).get_by_text("On the line").wait_for()
        assert gym.page.evaluate("window.loud") == []
        gym.page.get_by_role("button", name="Tone in shape").click()
        gym.page.wait_for_function("window.loud.some((value) => value > 0)")
        headline(gym).get_by_text("Cannot tell yet").wait_for()
        assert gym.page.evaluate("window.loud.at(-1)") == 0


def test_the_picture_is_a_mirror_until_it_is_turned(filmed: Any, opened: tuple[App, int]) -> None:
    with beside_the_mat(filmed, opened, TellingEye([straight_girl()])) as gym:
        turned = "getComputedStyle(document.querySelector('[data-turned]')).transform"
        assert gym.page.evaluate(turned).startswith("matrix(-1")
        gym.page.get_by_role("button", name="Mirror").click()
        assert gym.page.evaluate(turned) == "none"


def test_after_a_lost_connection_it_goes_on_by_itself(filmed: Any, opened: tuple[App, int]) -> None:
    with beside_the_mat(filmed, opened, TellingEye([straight_girl()])) as gym:
        gym.page.get_by_role("button", name="Start").click()
        headline(gym).get_by_text("On the line").wait_for()
        gym.page.route("**/api/live/*", lambda route: route.abort("connectionreset"))
        fault(gym).get_by_text("There is no connection").wait_for()
        assert headline(gym).inner_text() == "Cannot tell yet"
        gym.page.unroute("**/api/live/*")
        # A server that was started anew knows nothing of this device.
        gym.app.live._devices.clear()
        headline(gym).get_by_text("On the line").wait_for()
        fault(gym).wait_for(state="hidden")


# Without a camera


def test_a_refused_camera_says_what_to_do(filmed: Any, opened: tuple[App, int]) -> None:
    with beside_the_mat(filmed, opened, TellingEye([straight_girl()]), camera=False) as gym:
        gym.page.get_by_role("button", name="Start").click()
        fault(gym).get_by_text("The camera was refused. Allow it for this page").wait_for()
        assert gym.page.get_by_role("button", name="Start").is_visible()
        assert len(gym.app.live) == 0


def test_a_page_that_gets_no_camera_says_where_it_would(
    filmed: Any, opened: tuple[App, int]
) -> None:
    with beside_the_mat(filmed, opened, TellingEye([straight_girl()])) as gym:
        gym.page.evaluate("Object.defineProperty(window, 'isSecureContext', { value: false })")
        gym.page.get_by_role("button", name="Start").click()
        fault(gym).get_by_text("http://127.0.0.1").wait_for()


def test_a_device_without_a_camera_says_so(playwright: Any, opened: tuple[App, int]) -> None:
    with (
        launched_with_camera(playwright, None) as browser,
        beside_the_mat(browser, opened, TellingEye([straight_girl()])) as gym,
    ):
        gym.page.get_by_role("button", name="Start").click()
        fault(gym).get_by_text("No camera was found.").wait_for()


# Looks


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing(filmed: Any, opened: tuple[App, int], scheme: str) -> None:
    if not fetch_axe.PATH.is_file():
        missing_browser("axe is not there; python tools/fetch_axe.py gets it")
    eye = TellingEye([girl(shoulder_px=30)])
    with beside_the_mat(filmed, opened, eye, color_scheme=scheme) as gym:
        found = {"idle": violations(gym)}
        gym.page.get_by_role("button", name="Start").click()
        headline(gym).get_by_text("Short of the line").wait_for()
        gym.page.locator("details > summary").click()
        found["running"] = violations(gym)
        assert {name: one for name, one in found.items() if one} == {}


def violations(gym: Gym) -> list[str]:
    gym.page.evaluate(Path(fetch_axe.PATH).read_text(encoding="utf-8"))
    found = gym.page.evaluate(
        """axe.run(document, {
            runOnly: ["wcag2a", "wcag2aa", "wcag21aa", "wcag22aa", "best-practice"],
        })"""
    )
    return [
        json.dumps([one["id"], *(node["html"][:160] for node in one["nodes"])])
        for one in found["violations"]
    ]


@pytest.mark.parametrize("size", [(1280, 800), (1180, 820), (820, 1180), (390, 844)])
def test_nothing_goes_sideways_and_thumbs_find_their_place(
    filmed: Any, opened: tuple[App, int], size: tuple[int, int]
) -> None:
    viewport = {"width": size[0], "height": size[1]}
    eye = TellingEye([girl(shoulder_px=30)])
    with beside_the_mat(filmed, opened, eye, viewport=viewport) as gym:
        gym.page.get_by_role("button", name="Start").click()
        headline(gym).get_by_text("Short of the line").wait_for()
        assert gym.page.evaluate("document.documentElement.scrollWidth") <= size[0]
        small = gym.page.evaluate(
            """[...document.querySelectorAll("button, select, .near label, a.button, summary")]
                .filter((one) => one.offsetParent !== null)
                .filter((one) => one.getBoundingClientRect().height < 44)
                .map((one) => one.outerHTML.slice(0, 80))"""
        )
        assert small == []
        letters = gym.page.evaluate(
            "parseFloat(getComputedStyle(document.querySelector('.reading dd')).fontSize)"
        )
        assert letters >= 50
