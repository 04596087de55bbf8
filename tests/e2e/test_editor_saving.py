"""The mark editor when saving: stale, failed, twice."""

import pytest
from editor_desk import Desk, made_stale

pytestmark = pytest.mark.browser


def test_after_a_stale_save_mine_can_be_kept(desk: Desk) -> None:
    mine = made_stale(desk)
    desk.page.get_by_role("button", name="Keep mine").click()
    desk.page.wait_for_function("harness.went.length === 1")
    saves = desk.tell("harness.saves")
    assert saves[1]["version"] == 7
    assert saves[1]["record"] == {**mine, "confirmed": True}
    assert not desk.page.locator(".cl-stale").is_visible()


def test_after_a_stale_save_theirs_can_be_taken_and_mine_got_back(desk: Desk) -> None:
    x, y = desk.mark("hip")
    mine = made_stale(desk)
    desk.page.get_by_role("button", name="Take theirs").click()
    assert desk.mark("hip") == (x, y + 40)
    assert not desk.tell("harness.editor.isDirty()")
    desk.page.keyboard.press("u")
    assert desk.record() == mine
    assert desk.tell("harness.editor.isDirty()")


def test_a_save_that_fails_says_why_and_can_be_tried_again(desk: Desk) -> None:
    desk.tell("harness.answers.push({ error: 'The disk is full.' })")
    desk.drag("hip", 0, -30)
    desk.page.keyboard.press("n")
    desk.page.get_by_text("Not saved. The disk is full.").first.wait_for()
    assert desk.tell("harness.went.length") == 0
    desk.page.get_by_role("button", name="Try again").click()
    desk.page.wait_for_function("harness.saves.length === 2")
    assert not desk.tell("harness.editor.isDirty()")


def test_two_quick_enters_are_one_save_and_one_photo(desk: Desk) -> None:
    desk.tell("harness.answers.push({ version: 2, afterMs: 300 })")
    desk.page.keyboard.press("Enter")
    desk.page.keyboard.press("Enter")
    desk.page.wait_for_function("harness.went.length >= 1")
    desk.page.wait_for_timeout(200)
    assert desk.tell("[harness.saves.length, harness.went.length]") == [1, 1]


def test_it_is_right_is_said_even_while_another_save_runs(desk: Desk) -> None:
    desk.tell("harness.answers.push({ version: 2, afterMs: 300 }, { version: 3 })")
    desk.drag("hip", 0, -30)
    desk.page.keyboard.press("Control+s")
    desk.page.keyboard.press("Enter")
    desk.page.wait_for_function("harness.went.length === 1")
    saves = desk.tell("harness.saves")
    assert [(one["version"], one["record"]["confirmed"]) for one in saves] == [
        (1, False),
        (2, True),
    ]
