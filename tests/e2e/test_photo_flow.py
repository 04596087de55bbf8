"""Screening, queue and photo in Debian's chromium: photos go up, are looked at, nothing is lost."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from photo_gym import Gym, open_club

from chordline.bootstrap import App
from gym_site import jpeg

pytestmark = pytest.mark.browser


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
    gym.page.get_by_text("1 file that is no photo or video was left out.").wait_for()


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
    gym.page.get_by_text("All of these are of Ida Sol.").wait_for()
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
