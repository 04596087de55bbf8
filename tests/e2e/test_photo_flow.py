"""Screening, queue and photo in Debian's chromium: photos go up, are looked at, nothing is lost."""

import json
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from editor_pages import ROOT, missing_browser

sys.path.insert(0, str(ROOT / "tools"))
import fetch_axe
from application_doubles import PRONE, FakePoses, body_of
from chordline.adapters.pose.weights import FOLDER_VARIABLE
from chordline.application.club.records import NewGymnast
from chordline.bootstrap import App
from gym_site import jpeg, listening

pytestmark = pytest.mark.browser

SIZES = {"desktop": (1280, 800), "across": (1180, 820), "upright": (820, 1180), "phone": (390, 844)}
#: What a page may send before its photos [bytes].
MOST_SENT = 150_000


class Gym:
    """A club behind a real server, and a browser's page on it."""

    def __init__(self, browser: Any, app: App, port: int, **context: Any) -> None:
        self.app = app
        self.address = f"http://127.0.0.1:{port}"
        self.context = browser.new_context(
            **{"viewport": {"width": 1280, "height": 800}, "bypass_csp": True, **context}
        )
        self.page = self.context.new_page()
        self.page.set_default_timeout(10_000)
        self.faults: list[str] = []
        self.page.on("pageerror", lambda error: self.faults.append(str(error)))

    def go(self, path: str) -> None:
        self.page.goto(self.address + path)

    def send(self, name: str, shade: int) -> int:
        answer = self.context.request.post(
            f"{self.address}/api/photos?name={name}", data=jpeg(shade)
        )
        return int(answer.json()["id"])

    def api(self, path: str) -> Any:
        return self.context.request.get(f"{self.address}/api{path}").json()

    def wait_measured(self) -> None:
        deadline = time.monotonic() + 20
        while self.api("/progress")["waiting"]:
            assert time.monotonic() < deadline, "it is never measured"
            time.sleep(0.05)

    def doubtful(self, count: int) -> list[int]:
        """Photos of a girl on her stomach that claim to be handstands."""
        self.go("/look")
        ids = [self.send("11_handstand.jpg", 10 + i) for i in range(count)]
        self.wait_measured()
        return ids


@pytest.fixture
def opened(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, browser: Any
) -> Iterator[tuple[App, int]]:
    weights = tmp_path / "no weights"
    weights.mkdir()
    monkeypatch.setenv(FOLDER_VARIABLE, str(weights))
    app = App(data=tmp_path / "club")
    app.__dict__["poses"] = FakePoses((body_of(PRONE),), shrink=1.0)
    with app.records.transaction() as tx:
        club = tx.clubs.add("Turnverein")
        for card, name in ((11, "Mila Berg"), (12, "Ida Sol")):
            tx.gymnasts.add(club.id, NewGymnast(name, card=card))
    with listening(app, measure=True) as port:
        yield app, port


@pytest.fixture
def gym(opened: tuple[App, int], browser: Any) -> Iterator[Gym]:
    gym = Gym(browser, *opened)
    yield gym
    gym.context.close()
    assert gym.faults == []


def pictures(folder: Path, count: int) -> list[Path]:
    folder.mkdir()
    tests = ("prone-sides", "prone-out", "prone-overhead")
    paths = [folder / f"{11 + i % 2}_{tests[i // 2]}.jpg" for i in range(count)]
    for i, path in enumerate(paths):
        path.write_bytes(jpeg(20 + i))
    return paths


# Coming in


def test_photos_go_up_by_themselves_and_are_measured(gym: Gym, tmp_path: Path) -> None:
    gym.go("/screening")
    gym.page.locator('[data-pick="files"]').set_input_files(pictures(tmp_path / "new", 6))
    gym.page.get_by_text("6 of 6 photos arrived.").first.wait_for()
    gym.page.get_by_text("Nothing waits.").wait_for()
    assert gym.page.locator("[data-recent] li").count() == 6
    gym.page.locator("[data-recent]").get_by_text("Mila Berg").first.wait_for()
    assert gym.page.get_by_role("link", name="See the squad").is_visible()


def test_the_same_photos_again_are_there_already_and_others_refused(
    gym: Gym, tmp_path: Path
) -> None:
    gym.go("/screening")
    files = pictures(tmp_path / "new", 2)
    (note := tmp_path / "new" / "note.txt").write_text("no picture")
    pick = gym.page.locator('[data-pick="files"]')
    pick.set_input_files(files)
    gym.page.get_by_text("2 of 2 photos arrived.").first.wait_for()
    pick.set_input_files([*files, note])
    words = gym.page.locator("[data-words]")
    words.get_by_text("4 of 5 photos arrived, 2 there already, 1 refused.").wait_for()
    first = gym.page.locator("[data-list] li").first
    assert "note.txt" in first.inner_text()
    assert "This file is not a picture that can be read" in first.inner_text()
    assert gym.page.get_by_role("button", name="Try again").is_visible()


def test_a_folder_brings_its_pictures_only(gym: Gym, tmp_path: Path) -> None:
    gym.go("/screening")
    pictures(tmp_path / "new", 2)
    (tmp_path / "new" / "note.txt").write_text("no picture")
    (tmp_path / "new" / "deeper").mkdir()
    (tmp_path / "new" / "deeper" / "12_prone-out.jpg").write_bytes(jpeg(99))
    gym.page.locator('[data-pick="folder"]').set_input_files(tmp_path / "new")
    gym.page.get_by_text("3 of 3 photos arrived.").first.wait_for()
    gym.page.get_by_text("1 file that is no picture was left out.").wait_for()


def test_after_a_lost_connection_they_go_up_by_themselves(gym: Gym, tmp_path: Path) -> None:
    gym.go("/screening")
    lost = []

    def lose(route: Any) -> None:
        if len(lost) < 3:
            lost.append(route.request.url)
            route.abort("connectionreset")
        else:
            route.continue_()

    gym.page.route("**/api/photos?*", lose)
    gym.page.locator('[data-pick="files"]').set_input_files(pictures(tmp_path / "new", 4))
    gym.page.locator("[data-words]").get_by_text("trying again in").wait_for()
    gym.page.get_by_text("4 of 4 photos arrived.").first.wait_for(timeout=15_000)
    assert gym.api("/progress")["refused"] == 0


def test_stopped_photos_are_listed_and_go_up_later(gym: Gym, tmp_path: Path) -> None:
    gym.go("/screening")
    held: list[Any] = []

    def hold(route: Any) -> None:
        held.append(route)

    gym.page.route("**/api/photos?*", hold)
    gym.page.locator('[data-pick="files"]').set_input_files(pictures(tmp_path / "new", 3))
    gym.page.locator("[data-list] li").nth(2).wait_for()
    # While photos are on their way the page asks before it is left.
    assert gym.page.evaluate(
        """() => {
            const leaving = new Event("beforeunload", { cancelable: true });
            window.dispatchEvent(leaving);
            return leaving.defaultPrevented;
        }"""
    )
    gym.page.get_by_role("button", name="Stop").click()
    gym.page.locator("[data-words]").get_by_text("0 of 3 photos arrived, 3 stopped.").wait_for()
    gym.page.unroute("**/api/photos?*")
    gym.page.get_by_role("button", name="Try again").click()
    gym.page.get_by_text("3 of 3 photos arrived.").first.wait_for()


def test_dropped_photos_come_in(gym: Gym) -> None:
    gym.go("/screening")
    gym.page.evaluate(
        """async (bytes) => {
            const dropped = new DataTransfer();
            const type = { type: "image/jpeg" };
            dropped.items.add(new File([new Uint8Array(bytes)], "11_prone-out.jpg", type));
            document.querySelector("[data-drop]").dispatchEvent(
                new DragEvent("drop", { bubbles: true, cancelable: true, dataTransfer: dropped }));
        }""",
        list(jpeg(77)),
    )
    gym.page.get_by_text("1 of 1 photo arrived.").first.wait_for()


def test_shooting_steps_through_tests_and_gymnasts(gym: Gym, tmp_path: Path) -> None:
    gym.go("/screening")
    press = gym.page.get_by_role("button", name="Next test")
    press.click()
    assert gym.page.locator("[data-title]").inner_text() == "On the stomach, arms beside the body"
    press.click()
    assert "arms straight out to the sides" in gym.page.locator("[data-how]").inner_text()
    assert "licensed clinician" in gym.page.locator("[data-care]").inner_text()
    gym.page.get_by_role("button", name="Next gymnast").click()
    gym.page.get_by_text("All of these photos are of Ida Sol.").wait_for()
    (shot,) = pictures(tmp_path / "new", 1)
    (renamed := tmp_path / "image.jpg").write_bytes(shot.read_bytes())
    gym.page.locator('[data-pick="camera"]').set_input_files(renamed)
    gym.page.get_by_text("1 of 1 photo arrived.").first.wait_for()
    gym.wait_measured()
    told = gym.api("/photos/1")["photo"]
    assert (told["gymnast"]["name"], told["test"]) == ("Ida Sol", "prone-out")


def test_whoever_is_nobody_stops_the_photos(gym: Gym, tmp_path: Path) -> None:
    gym.go("/screening")
    gym.page.get_by_label("Gymnast", exact=True).fill("Nobody At All")
    gym.page.locator('[data-pick="files"]').set_input_files(pictures(tmp_path / "new", 1))
    gym.page.get_by_text("Nobody is called 'Nobody At All'").wait_for()
    assert gym.page.locator("[data-uploads]").is_hidden()


def test_a_name_is_suggested_while_it_is_typed(gym: Gym) -> None:
    gym.go("/screening")
    gym.page.get_by_label("Gymnast", exact=True).press_sequentially("id", delay=30)
    option = gym.page.locator("#gymnasts option")
    option.wait_for(state="attached")
    assert option.get_attribute("value") == "Ida Sol, card 12"


def test_measuring_is_paused_and_goes_on(gym: Gym, tmp_path: Path) -> None:
    gym.context.request.post(f"{gym.address}/api/progress/pause")
    gym.go("/screening")
    gym.page.locator('[data-pick="files"]').set_input_files(pictures(tmp_path / "new", 2))
    gym.page.get_by_text("2 photos wait; measuring is paused.").wait_for()
    gym.page.get_by_role("button", name="Go on").click()
    gym.page.get_by_text("Nothing waits.").wait_for()


# Looking


def test_the_queue_is_walked_by_one_key(gym: Gym) -> None:
    ids = gym.doubtful(3)
    gym.go("/look")
    gym.page.get_by_role("link", name="Start looking").click()
    for photo_id in ids:
        gym.page.wait_for_url(f"**/photos/{photo_id}?queue=1")
        gym.page.locator('[data-landmark="hip"]').wait_for()
        gym.page.keyboard.press("Enter")
    gym.page.wait_for_url("**/look?said=*")
    gym.page.get_by_text("That was the last one in the queue.").wait_for()
    assert gym.api("/look")["total"] == 0


def test_previous_is_the_one_looked_at_before_although_it_left_the_queue(gym: Gym) -> None:
    first, second = gym.doubtful(2)
    gym.go(f"/photos/{first}?queue=1")
    gym.page.locator('[data-landmark="hip"]').wait_for()
    gym.page.keyboard.press("Enter")
    gym.page.wait_for_url(f"**/photos/{second}?queue=1")
    gym.page.locator('[data-landmark="hip"]').wait_for()
    gym.page.keyboard.press("p")
    gym.page.wait_for_url(f"**/photos/{first}?queue=1")
    gym.page.locator('[data-landmark="hip"]').wait_for()
    gym.page.keyboard.press("n")
    gym.page.wait_for_url(f"**/photos/{second}?queue=1")


def test_the_next_picture_is_there_before_it_is_asked_for(gym: Gym) -> None:
    first, second = gym.doubtful(2)
    with gym.page.expect_request(f"**/photos/{second}/picture?px=1600"):
        gym.go(f"/photos/{first}?queue=1")


def test_two_coaches_at_one_photo(gym: Gym, browser: Any, opened: tuple[App, int]) -> None:
    (photo_id,) = gym.doubtful(1)
    other = Gym(browser, *opened)
    other.context.add_cookies([{"name": "coach", "value": "Bo", "url": other.address}])
    for one in (gym, other):
        one.go(f"/photos/{photo_id}")
        one.page.locator('[data-landmark="hip"]').focus()
    other.page.keyboard.press("Shift+ArrowUp")
    other.page.keyboard.press("Control+s")
    other.page.wait_for_function(
        "async (id) => (await (await fetch(`/api/photos/${id}/marks`)).json()).length === 1",
        arg=photo_id,
    )
    gym.page.keyboard.press("Shift+ArrowDown")
    gym.page.keyboard.press("Control+s")
    gym.page.get_by_text("Bo changed these marks meanwhile").wait_for()
    history = gym.api(f"/photos/{photo_id}/marks")
    assert [one["set_aside"] for one in history] == [False, True]
    other.context.close()


def test_marks_moved_and_not_saved_outlive_a_page_that_is_put_away(gym: Gym) -> None:
    (photo_id,) = gym.doubtful(1)
    gym.go(f"/photos/{photo_id}")
    gym.page.locator('[data-landmark="hip"]').focus()
    gym.page.keyboard.press("Shift+ArrowUp")
    gym.page.evaluate(
        """() => {
            Object.defineProperty(document, "hidden", { value: true, configurable: true });
            document.dispatchEvent(new Event("visibilitychange"));
        }"""
    )
    gym.page.wait_for_function(
        "async (id) => (await (await fetch(`/api/photos/${id}/marks`)).json()).length === 1",
        arg=photo_id,
    )


def test_a_waiting_photo_appears_when_it_is_measured(gym: Gym) -> None:
    gym.context.request.post(f"{gym.address}/api/progress/pause")
    photo_id = gym.send("11_prone-overhead.jpg", 50)
    gym.go(f"/photos/{photo_id}")
    gym.page.get_by_text("still to be measured").wait_for()
    gym.context.request.post(f"{gym.address}/api/progress/go-on")
    gym.page.locator('[data-landmark="hip"]').wait_for()


def test_a_photo_without_owner_is_filed_by_keys(gym: Gym) -> None:
    gym.go("/look")
    photo_id = gym.send("image.jpg", 50)
    gym.wait_measured()
    gym.go(f"/photos/{photo_id}?queue=1")
    field = gym.page.get_by_label("Whose photo is it?")
    assert field.evaluate("one => one === document.activeElement")
    gym.page.keyboard.type("12")
    gym.page.get_by_label("Which test?").select_option("prone-overhead")
    gym.page.get_by_role("button", name="File it").press("Enter")
    gym.page.locator('[data-landmark="hip"]').wait_for()
    assert gym.page.get_by_role("heading", name="Ida Sol").is_visible()


# Looks


def states(gym: Gym) -> dict[str, str]:
    (doubtful,) = gym.doubtful(1)
    unowned = gym.send("image.jpg", 60)
    gym.wait_measured()
    gym.context.request.post(f"{gym.address}/api/progress/pause")
    waiting = gym.send("11_prone-out.jpg", 61)
    return {
        "screening": "/screening",
        "look": "/look",
        "editor": f"/photos/{doubtful}?queue=1",
        "unowned": f"/photos/{unowned}?queue=1",
        "waiting": f"/photos/{waiting}",
    }


@pytest.mark.slow
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing(gym: Gym, scheme: str, tmp_path: Path) -> None:
    if not fetch_axe.PATH.is_file():
        missing_browser("axe is not there; python tools/fetch_axe.py gets it")
    gym.page.emulate_media(color_scheme=scheme)
    gym.go("/look")
    found = {"empty queue": violations(gym)}
    for name, path in states(gym).items():
        gym.go(path)
        if name == "screening":
            gym.page.get_by_role("button", name="Next test").click()
            (note := tmp_path / "note.jpg").write_text("no picture")
            gym.page.locator('[data-pick="files"]').set_input_files(note)
            gym.page.locator("[data-words]").get_by_text("1 refused").wait_for()
        for closed in gym.page.locator("details:not([open]) > summary").all():
            if closed.is_visible():
                closed.click()
        found[name] = violations(gym)
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


@pytest.mark.slow
def test_nothing_scrolls_sideways_and_everything_is_large_enough(gym: Gym) -> None:
    paths = states(gym)
    for name, path in paths.items():
        for size, (width, height) in SIZES.items():
            gym.page.set_viewport_size({"width": width, "height": height})
            gym.go(path)
            gym.page.wait_for_timeout(150)
            told = gym.page.evaluate(
                """() => [document.documentElement.scrollWidth - innerWidth,
                    ...[...document.querySelectorAll("main :is(a, button, select, summary, " +
                        "label.button, input:not([type=hidden], .unseen))")]
                        .filter((one) => !one.closest(".cl-editor, p.said") && one.offsetParent)
                        .filter((one) => one.getBoundingClientRect().height < 43.5)
                        .map((one) => one.outerHTML.slice(0, 100))]"""
            )
            assert told == [0], f"{name} on {size}"


@pytest.mark.parametrize("name", ["screening", "look", "editor"])
def test_a_page_is_small(gym: Gym, name: str) -> None:
    path = states(gym)[name]
    session = gym.context.new_cdp_session(gym.page)
    session.send("Network.enable")
    session.send("Network.setCacheDisabled", {"cacheDisabled": True})
    kinds: dict[str, str] = {}
    sent: dict[str, float] = {}
    session.on(
        "Network.responseReceived",
        lambda told: kinds.update({told["requestId"]: told["response"]["mimeType"]}),
    )
    session.on(
        "Network.loadingFinished",
        lambda told: sent.update({told["requestId"]: told["encodedDataLength"]}),
    )
    gym.go(path)
    gym.page.wait_for_load_state("networkidle")
    total = sum(size for key, size in sent.items() if kinds.get(key) != "image/jpeg")
    print(f"{name}: {total / 1000:.1f} kB sent without photos")
    assert 5_000 < total < MOST_SENT
