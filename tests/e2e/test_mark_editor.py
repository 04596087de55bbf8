"""The mark editor in Debian's chromium: mouse, finger and keys, and what it tells meanwhile."""

import json
import statistics
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from editor_pages import (
    ROOT,
    editor_options,
    launched,
    missing_browser,
    python_reading,
    served,
)

sys.path.insert(0, str(ROOT / "tools"))
import fetch_axe

pytestmark = pytest.mark.browser

VECTORS = ROOT / "tests" / "data" / "measure_vectors.json"
PHOTO = "13_prone-overhead.jpg"
TEST = "prone-overhead"
#: Wraps every pointermove handler with a stop-watch, before the page's own scripts run.
STOPWATCH = """
window.moveTimes = [];
const listen = EventTarget.prototype.addEventListener;
EventTarget.prototype.addEventListener = function (type, listener, how) {
    if (type !== "pointermove") return listen.call(this, type, listener, how);
    return listen.call(this, type, (event) => {
        const began = performance.now();
        listener(event);
        window.moveTimes.push(performance.now() - began);
    }, how);
};
"""


@pytest.fixture(scope="module")
def address() -> Iterator[str]:
    with served() as address:
        yield address


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    with launched() as browser:
        yield browser


class Desk:
    """One page with the editor on it, and everything that went wrong there."""

    def __init__(self, browser: Any, address: str, **context: Any) -> None:
        self.context = browser.new_context(
            **{"viewport": {"width": 1280, "height": 800}, **context}
        )
        self.context.route("**/*", lambda route: self._guard(route, address))
        self.page = self.context.new_page()
        self.faults: list[str] = []
        self.requests: list[str] = []
        self.page.on("pageerror", lambda error: self.faults.append(str(error)))
        self.page.on(
            "console",
            lambda message: (
                message.type in {"error", "warning"} and self.faults.append(message.text)
            ),
        )
        self.page.add_init_script(STOPWATCH)
        self.page.goto(f"{address}/editor_harness.html")
        self.page.wait_for_function("window.harness")

    def _guard(self, route: Any, address: str) -> None:
        self.requests.append(route.request.url)
        if route.request.url.startswith((address, "data:")):
            route.continue_()
        else:
            route.abort()

    def mount(self, options: dict[str, Any] | None = None) -> None:
        self.page.evaluate("options => harness.mount(options)", options or editor_options(PHOTO))

    def tell(self, expression: str) -> Any:
        return self.page.evaluate(expression)

    def record(self) -> dict[str, Any]:
        return self.tell("harness.editor.record()")

    def mark(self, name: str) -> tuple[float, float]:
        mark = self.record()["landmarks"][name]
        return mark["x_px"], mark["y_px"]

    def spot(self, name: str) -> tuple[float, float]:
        """Where a landmark is on the page [client px], scaled containers included."""
        box = self.page.locator(f'[data-landmark="{name}"]').bounding_box()
        return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2

    def drag(self, name: str, dx: float, dy: float, *, steps: int = 12) -> None:
        x, y = self.spot(name)
        self.page.mouse.move(x, y)
        self.page.mouse.down()
        self.page.mouse.move(x + dx, y + dy, steps=steps)
        self.page.mouse.up()

    def touch(self, kind: str, *points: tuple[float, float]) -> None:
        if not hasattr(self, "_cdp"):
            self._cdp = self.context.new_cdp_session(self.page)
        self._cdp.send(
            "Input.dispatchTouchEvent",
            {
                "type": kind,
                "touchPoints": [{"x": x, "y": y, "id": i} for i, (x, y) in enumerate(points)],
            },
        )

    def loupe_is_clear_of(self, x: float, y: float) -> bool:
        """Whether the whole glass is in sight and at least a fingertip away from a finger."""
        glass = self.page.locator(".cl-loupe").bounding_box()
        stage = self.page.locator(".cl-stage").bounding_box()
        left, top = glass["x"], glass["y"]
        right, bottom = left + glass["width"], top + glass["height"]
        inside = (
            left >= stage["x"]
            and top >= stage["y"]
            and right <= stage["x"] + stage["width"]
            and bottom <= stage["y"] + stage["height"]
        )
        fingertip_px = 24.0
        aside = max(left - x, x - right, top - y, y - bottom)
        return inside and aside >= fingertip_px

    def agrees_with_python(self, test: str = TEST) -> None:
        """What the page measures is what Python measures for the marks it would save."""
        expected = python_reading(self.record(), test)
        told = self.tell("harness.editor.measures()")
        assert list(told) == list(expected.names)
        for i, name in enumerate(expected.names):
            assert told[name]["value"] == pytest.approx(expected.values[i], abs=1e-6), name
            assert told[name]["sd"] == pytest.approx(expected.sd[name], rel=0.05), name

    def shown(self, measure: str) -> str:
        text = self.page.locator(f'[data-measure="{measure}"]').inner_text()
        return " ".join(text.replace("\u00a0", " ").split())


@pytest.fixture
def desk(browser: Any, address: str) -> Iterator[Desk]:
    desk = Desk(browser, address)
    desk.mount()
    yield desk
    assert desk.faults == []
    desk.context.close()


def tablet(browser: Any, address: str, **more: Any) -> Desk:
    size = {"width": 1024, "height": 768}
    return Desk(browser, address, viewport=size, device_scale_factor=2, has_touch=True, **more)


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


def with_everything() -> dict[str, Any]:
    """Return options with three curves and a known place of the phone: the most work a move has."""
    options = editor_options(PHOTO)
    marks = options["landmarks"]
    hip, shoulder = marks["hip"], marks["shoulder"]
    for curve, off in (("back", -45.0), ("seam", 5.0), ("belly", 40.0)):
        for i in range(9):
            marks[f"{curve}_{i + 1}"] = {
                **hip,
                "x_px": hip["x_px"] + i / 8 * (shoulder["x_px"] - hip["x_px"]),
                "y_px": hip["y_px"] + off + i / 8 * (shoulder["y_px"] - hip["y_px"]) + i % 2,
            }
    (case, *_) = json.loads(VECTORS.read_text(encoding="utf-8"))["cases"]
    return {**options, "view": case["view"], "frame": case["frame"]}


def without(*names: str) -> dict[str, Any]:
    options = editor_options(PHOTO)
    for name in names:
        del options["landmarks"][name]
    return options


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


STALE = """
const { landmarks } = harness.editor.record();
const hip = { ...landmarks.hip, y_px: landmarks.hip.y_px + 40, origin: "hand" };
harness.answers.push({ stale: { version: 7, near_side: "left", author: "Petra",
    landmarks: { ...landmarks, hip } } });
"""


def made_stale(desk: Desk) -> dict[str, Any]:
    desk.tell(f"{{ {STALE} }}")
    desk.drag("hip", 0, -30)
    mine = desk.record()
    desk.page.keyboard.press("Enter")
    desk.page.get_by_text("Petra changed these marks meanwhile").wait_for()
    assert desk.tell("harness.went.length") == 0
    assert desk.record() == mine, "nothing is lost"
    assert desk.page.locator(".cl-theirs").get_attribute("d"), "both are shown"
    rows = desk.page.locator(".cl-stale tbody tr").all_inner_texts()
    assert any(row.startswith("Hips") and "closed" in row and "open" in row for row in rows), rows
    desk.page.keyboard.press("Enter")
    assert desk.tell("harness.saves.length") == 1, "a second Enter decides nothing"
    return mine


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
