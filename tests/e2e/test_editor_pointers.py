"""The mark editor by mouse and finger."""

import statistics
from typing import Any

import pytest
from editor_desk import Desk, tablet, with_everything
from editor_pages import editor_options

pytestmark = pytest.mark.browser


def test_a_hip_dragged_with_the_mouse_closes_and_the_words_follow(desk: Desk) -> None:
    before = desk.mark("hip")
    assert desk.shown("hip_opening_deg").startswith("Hips straight on the line")
    x, y = desk.spot("hip")
    desk.page.mouse.move(x, y)
    desk.page.mouse.down()
    desk.page.mouse.move(x, y - 40, steps=8)
    assert desk.page.locator(".cl-loupe").is_visible()
    live = desk.tell("harness.editor.measures().hip_opening_deg.value")
    assert f"closed by {abs(live):.0f}°" in desk.shown("hip_opening_deg")
    desk.page.mouse.up()
    assert not desk.page.locator(".cl-loupe").is_visible()
    after = desk.mark("hip")
    scale = desk.tell("document.querySelector('.cl-picture').getBoundingClientRect().width / 1600")
    assert after[0] == pytest.approx(before[0], abs=0.02)
    assert after[1] == pytest.approx(before[1] - 40 / scale, abs=0.02)
    assert desk.record()["landmarks"]["hip"]["origin"] == "hand"
    desk.agrees_with_python()


def test_a_finger_that_trembles_moves_nothing(browser: Any, address: str) -> None:
    desk = tablet(browser, address)
    desk.mount()
    x, y = desk.spot("hip")
    desk.touch("touchStart", (x, y))
    desk.touch("touchMove", (x + 2, y + 3))
    desk.touch("touchEnd")
    assert not desk.tell("harness.editor.isDirty()")
    assert desk.tell("document.activeElement.dataset.landmark") == "hip"
    desk.context.close()


def test_only_this_machine_is_asked(desk: Desk, address: str) -> None:
    desk.drag("knee", 30, 20)
    desk.page.keyboard.press("Enter")
    assert desk.requests
    assert all(url.startswith((address, "data:")) for url in desk.requests)


def test_a_move_takes_little_script_time(browser: Any, address: str) -> None:
    desk = Desk(browser, address)
    desk.mount(with_everything())
    desk.drag("hip", 5, 5, steps=60)
    for name in ("hip", "back_3"):
        desk.tell("moveTimes.length = 0")
        desk.drag(name, 60, -60, steps=200)
        times = desk.tell("moveTimes")
        median = statistics.median(times)
        print(f"script time per move of {name}: median {median:.2f} ms, worst {max(times):.2f} ms")
        assert len(times) >= 100
        assert median < 16.0
    desk.context.close()


def test_a_finger_drags_on_a_tablet_and_keeps_its_distance(browser: Any, address: str) -> None:
    desk = tablet(browser, address)
    desk.mount()
    before = desk.mark("hip")
    x, y = desk.spot("hip")
    desk.touch("touchStart", (x + 9, y + 6))
    for i in range(1, 11):
        desk.touch("touchMove", (x + 9, y + 6 - 3 * i))
    assert desk.loupe_is_clear_of(x + 9, y - 24)
    desk.touch("touchEnd")
    scale = desk.tell("document.querySelector('.cl-picture').getBoundingClientRect().width / 1600")
    after = desk.mark("hip")
    assert after[0] == pytest.approx(before[0], abs=0.02)
    assert after[1] == pytest.approx(before[1] - 30 / scale, abs=0.02)
    desk.agrees_with_python()
    assert desk.faults == []
    desk.context.close()


def test_two_fingers_zoom_and_move_no_landmark(browser: Any, address: str) -> None:
    desk = tablet(browser, address)
    desk.mount()
    before, (x, y) = desk.record(), desk.spot("hip")
    apart = desk.spot("knee")[0] - desk.spot("shoulder")[0]
    desk.touch("touchStart", (x - 8, y))
    desk.touch("touchMove", (x, y))
    desk.touch("touchStart", (x, y), (x + 60, y + 80))
    for i in range(1, 9):
        desk.touch("touchMove", (x - 4 * i, y), (x + 60 + 4 * i, y + 80))
    desk.touch("touchEnd")
    assert desk.record() == before
    wider = desk.spot("knee")[0] - desk.spot("shoulder")[0]
    assert wider == pytest.approx(apart * (124**2 + 80**2) ** 0.5 / 100.0, rel=0.02)
    assert desk.faults == []
    desk.context.close()


@pytest.mark.parametrize("name", ["malleolus", "knee", "hip", "shoulder"])
def test_a_finger_need_not_hit_the_landmark(browser: Any, address: str, name: str) -> None:
    desk = tablet(browser, address)
    desk.mount()
    x, y = desk.spot(name)
    for dx, dy in ((-22, 0), (0, 22), (0, -8)):
        desk.touch("touchStart", (x + dx, y + dy))
        desk.touch("touchEnd")
        assert desk.tell("document.activeElement.dataset.landmark") == name
        desk.tell("document.activeElement.blur()")
    desk.context.close()


def test_the_loupe_is_never_under_the_finger_nor_outside(browser: Any, address: str) -> None:
    desk = tablet(browser, address)
    desk.mount(editor_options("13_handstand.jpg"))
    for name in ("malleolus", "knee", "hand"):
        x, y = desk.spot(name)
        desk.touch("touchStart", (x, y))
        desk.touch("touchMove", (x, y + 12))
        assert desk.loupe_is_clear_of(x, y + 12)
        desk.touch("touchEnd")
    desk.context.close()


def test_dragging_is_exact_inside_a_scaled_container(browser: Any, address: str) -> None:
    desk = tablet(browser, address)
    desk.tell("document.getElementById('place').className = 'is-scaled'")
    desk.mount()
    before = desk.mark("shoulder")
    desk.drag("shoulder", 30, 18)
    after = desk.mark("shoulder")
    scale = desk.tell("document.querySelector('.cl-picture').getBoundingClientRect().width / 1600")
    assert after[0] - before[0] == pytest.approx(30 / scale, abs=0.05)
    assert after[1] - before[1] == pytest.approx(18 / scale, abs=0.05)
    desk.agrees_with_python()
    assert desk.faults == []
    desk.context.close()
