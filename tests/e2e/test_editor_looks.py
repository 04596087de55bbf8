"""How the mark editor looks and reads to those who cannot see it."""

import json
from pathlib import Path
from typing import Any

import pytest
from editor_desk import PHOTO, Desk, made_stale, without
from editor_pages import editor_options, missing_browser

import fetch_axe

pytestmark = pytest.mark.browser


@pytest.mark.parametrize("photo", [PHOTO, "13_handstand.jpg"])
@pytest.mark.parametrize("size", [(1280, 800), (1024, 768), (768, 1024), (390, 844)])
def test_labels_stand_apart_and_controls_are_large(
    browser: Any, address: str, photo: str, size: tuple[int, int]
) -> None:
    desk = Desk(browser, address, viewport={"width": size[0], "height": size[1]})
    desk.mount(editor_options(photo))
    boxes = desk.tell(
        """[...document.querySelectorAll(".cl-labels text")]
            .filter((label) => label.getAttribute("visibility") === "visible")
            .map((label) => label.getBoundingClientRect().toJSON())"""
    )
    assert len(boxes) >= 4
    for i, a in enumerate(boxes):
        for b in boxes[:i]:
            assert not (
                a["left"] < b["right"]
                and b["left"] < a["right"]
                and a["top"] + 3 < b["bottom"]
                and b["top"] + 3 < a["bottom"]
            )
    small = desk.tell(
        """[...document.querySelectorAll("button:not([data-landmark]), summary")]
            .filter((one) => one.checkVisibility())
            .map((one) => [one.outerHTML.slice(0, 90), one.offsetWidth, one.offsetHeight])
            .filter(([, width, height]) => width < 44 || height < 44)"""
    )
    assert small == []
    out_of_place = desk.tell(
        """[...document.querySelectorAll(".cl-panel button, .cl-panel summary, .cl-tool")]
            .filter((one) => one.checkVisibility())
            .map((one) => [one, one.getBoundingClientRect()])
            .filter(([one, { right, bottom }]) => right > innerWidth - 8
                || (one.closest(".cl-finish") && bottom > innerHeight - 8))
            .map(([one]) => one.outerHTML.slice(0, 90))"""
    )
    assert out_of_place == []
    assert desk.faults == []
    desk.context.close()


def test_reduced_motion_lets_the_chord_jump(browser: Any, address: str) -> None:
    for motion, swings in (("no-preference", True), ("reduce", False)):
        desk = Desk(browser, address, reduced_motion=motion)
        desk.mount()
        desk.page.locator('[data-landmark="hand"]').focus()
        chord = desk.tell(
            """(() => {
                const chord = document.querySelector(".cl-chord");
                const before = chord.getAttribute("d");
                const key = { key: "ArrowUp", shiftKey: true, bubbles: true };
                document.activeElement.dispatchEvent(new KeyboardEvent("keydown", key));
                return [before, chord.getAttribute("d")];
            })()"""
        )
        assert (chord[0] == chord[1]) is swings
        desk.context.close()


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("state", ["at rest", "placing", "stale", "help"])
def test_axe_finds_nothing(browser: Any, address: str, scheme: str, state: str) -> None:
    if not fetch_axe.PATH.is_file():
        missing_browser("axe is not there; python tools/fetch_axe.py gets it")
    desk = Desk(browser, address, color_scheme=scheme)
    desk.mount(without("hand", "wrist") if state == "placing" else None)
    if state == "stale":
        made_stale(desk)
    if state == "help":
        desk.page.keyboard.press("?")
    desk.tell(Path(fetch_axe.PATH).read_text(encoding="utf-8"))
    found = desk.tell(
        """axe.run(document, {
            runOnly: ["wcag2a", "wcag2aa", "wcag21aa", "wcag22aa", "best-practice"],
        })"""
    )
    assert [
        (one["id"], [node["html"][:120] for node in one["nodes"]]) for one in found["violations"]
    ] == [], json.dumps(found["violations"], indent=1)[:3000]
    desk.context.close()
