"""The mark editor where a landmark is missing, and with outlines."""

from typing import Any

import pytest
from editor_desk import PHOTO, Desk, tablet, without
from editor_pages import editor_options

pytestmark = pytest.mark.browser


def test_a_missing_landmark_is_set_with_a_tap(browser: Any, address: str) -> None:
    desk = tablet(browser, address)
    true = editor_options(PHOTO)["landmarks"]["hand"]
    desk.mount(without("hand", "wrist"))
    assert desk.page.get_by_text("Tap where the hand is").is_visible()
    assert "A landmark is not set yet" in desk.page.locator(".cl-headline").inner_text()
    picture = desk.page.locator(".cl-picture").bounding_box()
    scale = picture["width"] / 1600
    x, y = picture["x"] + (true["x_px"] + 0.5) * scale, picture["y"] + (true["y_px"] + 0.5) * scale
    desk.touch("touchStart", (x, y))
    desk.touch("touchEnd")
    assert desk.mark("hand") == (
        pytest.approx(true["x_px"], abs=0.5),
        pytest.approx(true["y_px"], abs=0.5),
    )
    assert not desk.tell("harness.editor.isPlacing()")
    desk.agrees_with_python()
    assert desk.faults == []
    desk.context.close()


def test_a_missing_landmark_by_keys_must_be_moved_before_it_is_right(
    browser: Any, address: str
) -> None:
    desk = Desk(browser, address)
    desk.mount(without("hand", "wrist"))
    press = desk.page.keyboard.press
    press("Enter")
    assert desk.tell("document.activeElement.dataset.landmark") == "hand"
    press("Enter")
    assert desk.tell("harness.saves.length") == 0, "nobody has looked at a mark set in the middle"
    press("Shift+ArrowLeft")
    press("Enter")
    desk.page.wait_for_function("harness.saves.length === 1")
    desk.context.close()


def test_a_back_outline_is_added_moved_and_taken_away(desk: Desk) -> None:
    desk.page.get_by_text("Add a mark").click()
    desk.page.get_by_role("button", name="Outline of the back").click()
    hip, shoulder = desk.spot("hip"), desk.spot("shoulder")
    for share in (0.0, 1.0, 0.6, 0.3, 0.8):
        x = hip[0] + share * (shoulder[0] - hip[0])
        desk.page.mouse.click(x, hip[1] + share * (shoulder[1] - hip[1]) - 55)
    desk.page.get_by_role("button", name="Done").click()
    back = {k: v for k, v in desk.record()["landmarks"].items() if k.startswith("back_")}
    assert list(back) == [f"back_{i}" for i in range(1, 6)]
    xs = [mark["x_px"] for mark in back.values()]
    assert xs == sorted(xs, reverse=True), "from the seat to the neck, whatever the order of taps"
    desk.agrees_with_python()
    flat = desk.tell("harness.editor.measures().lower_back_hollow_deg.value")
    desk.drag("back_2", 0, 12)
    assert abs(desk.tell("harness.editor.measures().lower_back_hollow_deg.value") - flat) > 3.0
    desk.agrees_with_python()
    desk.page.keyboard.press("Delete")
    assert len([name for name in desk.record()["landmarks"] if name.startswith("back_")]) == 4
    assert "lower_back_hollow_deg" in desk.tell("harness.editor.measures()")
    desk.page.keyboard.press("u")
    assert "back_5" in desk.record()["landmarks"]
