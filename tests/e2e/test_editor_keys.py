"""The mark editor by keyboard: move, undo, flip, zoom, one key when it is right."""

import pytest
from editor_desk import Desk

pytestmark = pytest.mark.browser


def test_by_keyboard_alone(desk: Desk) -> None:
    press = desk.page.keyboard.press
    visited = []
    for _ in range(7):
        press("Tab")
        visited.append(desk.tell("document.activeElement.dataset.landmark"))
    assert visited == ["malleolus", "knee", "hip", "shoulder", "elbow", "wrist", "hand"]
    for _ in range(4):
        press("Shift+Tab")
    x, y = desk.mark("hip")
    press("Shift+ArrowUp")
    press("ArrowUp")
    press("ArrowRight")
    assert desk.mark("hip") == (pytest.approx(x + 1, abs=0.01), pytest.approx(y - 11, abs=0.01))
    name = desk.page.locator('[data-landmark="hip"]').get_attribute("aria-label")
    assert name == f"hip, {round(x + 1)} right, {round(y - 11)} down"
    live = desk.page.locator("[aria-live=polite]")
    desk.page.wait_for_function(
        "document.querySelector('[aria-live=polite]').textContent.includes('Hips closed by')"
    )
    assert live.inner_text() in desk.shown("hip_opening_deg").replace("° ", "°, ", 1)
    desk.agrees_with_python()
    press("u")
    assert desk.mark("hip") == (x, y)
    press("Shift+Control+Z")
    assert desk.mark("hip")[1] == pytest.approx(y - 11, abs=0.01)
    press("Enter")
    desk.page.wait_for_function("harness.went.length === 1")
    (saved,) = desk.tell("harness.saves")
    assert saved["record"]["confirmed"] is True
    assert saved["version"] == 1
    assert not desk.tell("harness.editor.isDirty()")


def test_one_key_when_it_is_right(desk: Desk) -> None:
    desk.page.keyboard.press("Enter")
    desk.page.wait_for_function("harness.went.length === 1")
    (saved,) = desk.tell("harness.saves")
    assert saved["record"] == {**desk.record(), "confirmed": True}


def test_zoom_fit_and_help_by_keys(desk: Desk) -> None:
    width = "document.querySelector('.cl-picture').getBoundingClientRect().width"
    fitted = desk.tell(width)
    desk.page.keyboard.press("+")
    assert desk.tell(width) == pytest.approx(1.3 * fitted)
    desk.page.keyboard.press("0")
    assert desk.tell(width) == pytest.approx(fitted)
    desk.page.keyboard.press("0")
    assert desk.tell(width) < fitted, "once more: the whole photo"
    desk.page.keyboard.press("?")
    assert desk.page.locator("dialog[open]").is_visible()
    desk.page.keyboard.press("f")
    assert desk.record()["near_side"] == "left", "keys under a dialog are the dialog's"
    desk.page.keyboard.press("Escape")
    assert desk.page.locator("dialog[open]").count() == 0


def test_undo_and_redo_go_step_by_step(desk: Desk) -> None:
    states = [desk.record()]
    for name, dx in (("hip", 20), ("knee", -15), ("shoulder", 12)):
        desk.drag(name, dx, 9)
        states.append(desk.record())
    undo, redo = (desk.page.get_by_role("button", name=name) for name in ("Undo", "Redo"))
    for state in states[-2::-1]:
        undo.click()
        assert desk.record() == state
    assert not desk.tell("harness.editor.isDirty()")
    assert undo.get_attribute("aria-disabled") == "true"
    for state in states[1:]:
        redo.click()
        assert desk.record() == state


def test_flipping_the_near_side_turns_every_sign(desk: Desk) -> None:
    desk.drag("hip", 0, -40)
    before = desk.tell("harness.editor.measures().hip_opening_deg.value")
    desk.page.keyboard.press("f")
    assert desk.record()["near_side"] == "right"
    assert desk.record()["front"] == "up"
    after = desk.tell("harness.editor.measures().hip_opening_deg.value")
    assert after == pytest.approx(-before)
    desk.agrees_with_python()
    assert "open" in desk.shown("hip_opening_deg")
